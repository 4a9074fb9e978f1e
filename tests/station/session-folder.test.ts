import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import type { Clock, Instant } from '../../app/base/clock.ts'
import { Settings } from '../../app/contract/settings.ts'
import { beginSession, freshId, takeUpSession } from '../../main/station/session-folder.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import {
  exampleEvent,
  exampleInfo,
  exampleSetup,
  START_UTC_US,
  scan,
  temporaryFolder,
} from '../store/example.ts'

/** A clock that stands until it is set: the computer's count since it was started, and its wall clock. */
function standing(monoUs: number, utcUs = START_UTC_US) {
  const at: Instant = { utcUs, monoUs }
  return {
    now: () => at,
    after: () => {
      throw new Error('nobody waits here')
    },
    sleep: () => {
      throw new Error('nobody waits here')
    },
  } satisfies Clock
}

function storeOf(): StationStore {
  const store = openStationStore(join(temporaryFolder(), 'data'), { clock: standing(0) })
  onTestFinished(() => store.close())
  return store
}

/** A session that was left open: begun, with a reading and an event so many microseconds into it. */
function leftOpen({ readingUs, eventUs }: { readingUs?: number; eventUs?: number }): StationStore {
  const store = storeOf()
  const { file, offsetUs, resumedFrom } = beginSession(store, standing(7_000_000), exampleInfo, exampleSetup)
  expect({ offsetUs, resumedFrom }).toEqual({ offsetUs: -7_000_000, resumedFrom: undefined })
  const at = (us: number) => ({ utcUs: START_UTC_US + us, monoUs: us })
  if (readingUs !== undefined) {
    const before = { ...scan(0, 1)[0]!, ...at(readingUs - 1) }
    file.commit({ readings: [before, { ...before, ...at(readingUs) }] })
  }
  if (eventUs !== undefined) file.commit({ events: [{ ...exampleEvent('noted'), ...at(eventUs) }] })
  file.close()
  return store
}

function takenUp(store: StationStore, clock: Clock) {
  const { file, offsetUs, resumedFrom } = takeUpSession(store, clock, exampleInfo.id)
  const n = file.annotate('A. Person', 'taken up')
  const told = file.events().find((event) => event.n === n)!
  file.close()
  return { offsetUs, resumedFrom, monoUs: told.monoUs, utcUs: told.utcUs }
}

describe('takeUpSession', () => {
  it.each([
    ['its last reading', { readingUs: 30e6, eventUs: 20e6 }, 30e6],
    ['its last event', { readingUs: 30e6, eventUs: 40e6 }, 40e6],
  ])('counts on from %s by as much as has passed on the wall', (_, left, lastUs) => {
    // An hour later, after the computer was started anew: its own count began again.
    const taken = takenUp(leftOpen(left), standing(5e6, START_UTC_US + lastUs + 3600e6))
    expect(taken.resumedFrom).toEqual({ utcUs: START_UTC_US + lastUs, monoUs: lastUs })
    expect(taken.offsetUs).toBe(lastUs + 3600e6 - 5e6)
    expect(taken).toMatchObject({ monoUs: lastUs + 3600e6, utcUs: START_UTC_US + lastUs + 3600e6 })
  })

  it('goes on one microsecond later where the wall clock was set back meanwhile, so that the order stays', () => {
    const taken = takenUp(leftOpen({ readingUs: 30e6 }), standing(5e6, START_UTC_US - 60e6))
    expect(taken).toMatchObject({ monoUs: 30e6 + 1, utcUs: START_UTC_US - 60e6 })
  })
})

describe('freshId', () => {
  it('carries the beginning of its station where benches share a register, so that no other gives the same', () => {
    const store = storeOf()
    const settings = Settings.parse({
      laboratory: { name: 'Hall', address: [], country: 'XX' },
      sharedRegister: { url: 'postgres://hall.invalid/laboratory', bench: 'Bench 1' },
    })
    store.saveSettings(settings, 'A. Person')
    expect(freshId(store, START_UTC_US)).toBe(`s-2026-03-01-1800-${store.station.slice(0, 4)}`)
  })

  it('names a session by its minute, and by a number where that is listed or lies there', () => {
    const store = storeOf()
    expect(freshId(store, START_UTC_US)).toBe('s-2026-03-01-1800')
    const info = { ...exampleInfo, id: 's-2026-03-01-1800' }
    beginSession(store, standing(0), info, exampleSetup).file.close()
    expect(freshId(store, START_UTC_US)).toBe('s-2026-03-01-1800-2')
    writeFileSync(store.sessionPath('s-2026-03-01-1800-2'), '')
    expect(freshId(store, START_UTC_US)).toBe('s-2026-03-01-1800-3')
    expect(freshId(store, START_UTC_US + 60e6)).toBe('s-2026-03-01-1801')
  })
})
