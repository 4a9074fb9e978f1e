import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { NewReading } from '../../app/records/reading.ts'
import { StoreError } from '../../main/store/errors.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { surveySession } from '../../main/store/survey.ts'
import { verifySession } from '../../main/store/verify.ts'
import {
  exampleClock,
  exampleEvent,
  exampleInfo,
  examplePoint,
  exampleSetup,
  scan,
  sharedFolder,
  temporaryFolder,
} from '../store/example.ts'

/** Flipped bytes per run: some with the tests, thousands in the long form. */
const FLIPS = Number(process.env.STILLPOINT_FLIPS ?? 150)
const BATCHES = 300
const CHANNELS = 4

function readingsOf(tick: number): NewReading[] {
  const readings = scan(tick, CHANNELS)
  if (tick % 10 === 3) readings[1] = { ...readings[1]!, raw: '9.9E37', value: null, marks: ['over-range'] }
  if (tick % 10 === 5) readings[2] = { ...readings[2]!, currentMa: Math.SQRT2, marks: ['settling-discarded'] }
  return readings
}

/** A session with events, a point, marks, two currents and a few chunks; returns the anchored head. */
function write(path: string): { batch: number; head: string } {
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
  for (let tick = 0; tick < BATCHES; tick++)
    file.commit({
      readings: readingsOf(tick),
      events: tick % 50 === 0 ? [exampleEvent(`scan ${tick}`)] : [],
      points: tick === 200 ? [examplePoint] : [],
      runner: { tick },
    })
  file.finish('complete', 'done')
  const anchor = file.anchor()
  file.close()
  return anchor
}

/** All that a session says, read the way a station reads it. */
function contents(path: string) {
  const file = openSessionFile(path, { mode: 'read' })
  try {
    return {
      info: file.info,
      setup: file.setup,
      readings: file.since(0, 1e6),
      columns: file.columns({ channel: 'ch3' }),
      events: file.events(),
      points: file.points(),
      runner: file.runnerState(),
      overview: file.overview({ channel: 'ch2', buckets: 33 }),
      head: file.head(),
    }
  } finally {
    file.close()
  }
}

/** What is left of a damaged session: how many readings, and which of them are not what was stored. */
function leftOf(path: string, stored: readonly unknown[]): { readable: number; changed: number } | undefined {
  let file: ReturnType<typeof openSessionFile>
  try {
    file = openSessionFile(path, { mode: 'read' })
  } catch (fault) {
    expect(fault).toBeInstanceOf(StoreError)
    return undefined
  }
  try {
    const { readable } = surveySession(file)
    let changed = 0
    try {
      for (const reading of file.since(0, 1e6))
        if (JSON.stringify(reading) !== JSON.stringify(stored[reading.seq - 1])) changed += 1
    } catch (fault) {
      expect(fault).toBeInstanceOf(StoreError)
    }
    return { readable, changed }
  } finally {
    file.close()
  }
}

describe('a session with one flipped bit', () => {
  const path = join(sharedFolder(), 'whole.stillpoint')
  const anchor = write(path)

  it(`is told from the whole one in each of ${FLIPS} places, and still read where it can be`, {
    timeout: 60_000 + 100 * FLIPS,
  }, () => {
    const bytes = readFileSync(path)
    const original = contents(path)
    let seed = 12345
    const random = (below: number) => {
      seed = (Math.imul(seed, 1103515245) + 12345) >>> 0
      return seed % below
    }
    const copy = join(temporaryFolder(), 'flip.stillpoint')
    const seen = { broken: 0, opened: 0, changed: 0, all: 0 }
    for (let i = 0; i < FLIPS; i++) {
      const flipped = Buffer.from(bytes)
      const at = random(bytes.length)
      flipped[at]! ^= 1 << random(8)
      writeFileSync(copy, flipped)
      const { whole } = verifySession(copy, { anchors: [anchor] })
      if (whole) {
        // Bytes that mean nothing, such as free room on a page: all that is read back is the same.
        expect(contents(copy), `byte ${at}`).toEqual(original)
        continue
      }
      seen.broken += 1
      const left = leftOf(copy, original.readings)
      if (!left) continue
      seen.opened += 1
      if (left.changed > 0) seen.changed += 1
      if (left.readable === original.readings.length) seen.all += 1
    }
    expect(seen.broken).toBeGreaterThan(FLIPS / 2)
    expect(seen.changed).toBeGreaterThan(FLIPS / 10)
    expect(seen.opened).toBeGreaterThan(0.95 * seen.broken)
    expect(seen.all).toBeGreaterThan(0.75 * seen.broken)
  })
})
