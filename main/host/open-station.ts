import type { Clock } from '../../app/base/clock.ts'
import type { StationState } from '../../app/contract/views.ts'
import { openInstrument, SharedLines } from '../../drivers/index.ts'
import packageJson from '../../package.json' with { type: 'json' }
import { type LogFile, openLog, type StationLog } from '../station/log.ts'
import { Station } from '../station/station.ts'
import { openStationStore, type StationStore } from '../store/station-store.ts'
import { sketchOf } from '../study/session-sketch.ts'
import { openProfileShelf, type ProfileShelf } from './profile-shelf.ts'

export interface HostedStation {
  readonly folder: string
  readonly clock: Clock
  readonly store: StationStore
  readonly station: Station
  readonly profiles: ProfileShelf
  readonly log: StationLog
  /** Writes the log out at once, for a process that is about to end. */
  flushLog(): void
  /** Lets go of everything; an open session stays open on disk. */
  close(): Promise<void>
}

export interface HostOptions {
  folder: string
  clock: Clock
  clockKind: StationState['clock']
}

/** Opens a data folder and puts a station on it. A second station on the same folder is refused in words. */
export async function openHostedStation({ folder, clock, clockKind }: HostOptions): Promise<HostedStation> {
  const store = openStationStore(folder, { clock, sketch: sketchOf })
  let logFile: LogFile | undefined
  try {
    logFile = await openLog(folder)
    const { log } = logFile
    const profiles = await openProfileShelf(folder, log)
    const lines = new SharedLines()
    const station = new Station({
      folder,
      clock,
      clockKind,
      store,
      profileTexts: () => profiles.texts,
      openInstrument: (spec) => openInstrument({ spec, clock, profiles, lines }),
      log,
      program: 'Stillpoint',
      programVersion: packageJson.version,
      smtpPassword: process.env.STILLPOINT_SMTP_PASSWORD,
      webhookToken: process.env.STILLPOINT_WEBHOOK_TOKEN,
    })
    profiles.onDidChange = (ids) => void station.profilesChanged(ids)
    return {
      folder,
      clock,
      store,
      station,
      profiles,
      log,
      flushLog: () => logFile?.flush(),
      close: async () => {
        profiles.close()
        await station.close()
        store.close()
        await logFile?.close()
      },
    }
  } catch (fault) {
    store.close()
    await logFile?.close()
    throw fault
  }
}
