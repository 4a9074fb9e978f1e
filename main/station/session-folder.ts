import { existsSync } from 'node:fs'
import type { Clock, Instant } from '../../app/base/clock.ts'
import type { Reading } from '../../app/records/reading.ts'
import type { SessionInfo, SessionSetup } from '../../app/records/session.ts'
import { openForWriting } from '../store/open-for-writing.ts'
import { createSessionFile, type SessionFile } from '../store/session-file.ts'
import type { StationStore } from '../store/station-store.ts'

export interface OpenedSession {
  readonly file: SessionFile
  readonly offsetUs: number
  readonly resumedFrom: Instant | undefined
}

/** The session's clock: the station's, counted from the session's own beginning. */
interface SessionClock extends Pick<Clock, 'now'> {
  offsetUs: number
}

function sessionClock(clock: Clock): SessionClock {
  return {
    offsetUs: 0,
    now() {
      const { utcUs, monoUs } = clock.now()
      return { utcUs, monoUs: monoUs + this.offsetUs }
    },
  }
}

/** Makes the file of a new session and lists it. */
export function beginSession(
  store: StationStore,
  clock: Clock,
  info: SessionInfo,
  setup: SessionSetup,
): OpenedSession {
  const own = sessionClock(clock)
  own.offsetUs = -clock.now().monoUs
  const file = createSessionFile(store.sessionPath(info.id), { info, setup, clock: own })
  store.registerSession(file)
  return { file, offsetUs: own.offsetUs, resumedFrom: undefined }
}

/** Opens a session that was left open; its count goes on by as much time as has passed on the wall. */
export function takeUpSession(store: StationStore, clock: Clock, id: string): OpenedSession {
  const own = sessionClock(clock)
  const file = openForWriting(store.sessionPath(id), own)
  const last = lastMoment(file)
  const now = clock.now()
  const away = Math.max(1, now.utcUs - last.utcUs)
  own.offsetUs = last.monoUs + away - now.monoUs
  return { file, offsetUs: own.offsetUs, resumedFrom: last }
}

/** The last moment a file tells of. */
function lastMoment(file: SessionFile): Instant {
  const reading: Reading | undefined = file.since(Math.max(0, file.readingCount - 1), 1)[0]
  const event = file.events().at(-1)
  const moments = [reading, event].filter((m) => m !== undefined)
  const latest = moments.reduce<Instant>((a, b) => (b.monoUs > a.monoUs ? b : a), {
    utcUs: file.info.startedUtcUs,
    monoUs: 0,
  })
  return { utcUs: latest.utcUs, monoUs: latest.monoUs }
}

/** Ids of sessions that were left open, newest first. */
export function openSessions(store: StationStore): string[] {
  return store.sessionIds('open')
}

/** A name for a new session that no other has: its date and time, and a number where that is taken. */
export function freshId(store: StationStore, utcUs: number): string {
  const stamp = new Date(utcUs / 1000).toISOString().slice(0, 16).replace('T', '-').replace(':', '')
  // An order may be measured at another bench than it came to: its session has a name that no bench gives to another.
  const stem = store.settings()?.sharedRegister ? `s-${stamp}-${store.station.slice(0, 4)}` : `s-${stamp}`
  let id = stem
  // A file may be there that is not listed: its station was killed as it began.
  for (let n = 2; store.hasSession(id) || existsSync(store.sessionPath(id)); n++) id = `${stem}-${n}`
  return id
}
