import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { NewReading } from '../../app/records/reading.ts'
import { overviewOfLog } from '../../main/store/overview.ts'
import { createSessionFile, openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { exampleClock, exampleInfo, exampleSetup, START_UTC_US, scan, temporaryFolder } from './example.ts'

function expectSame(
  file: SessionFile,
  query: { channel: string; fromUtcUs?: number; toUtcUs?: number; buckets: number },
) {
  const quick = file.overview(query)
  const plain = overviewOfLog(file.database, file.numbering, query)
  expect([...quick.n]).toEqual([...plain.n])
  expect([...quick.t]).toEqual([...plain.t])
  expect([...quick.min]).toEqual([...plain.min])
  expect([...quick.max]).toEqual([...plain.max])
  for (const [i, mean] of quick.mean.entries())
    expect(Math.abs(mean - plain.mean[i]!)).toBeLessThanOrEqual(1e-13 * Math.abs(mean))
}

describe('SessionFile.overview', () => {
  it('equals a GROUP BY over the log in every bucket, while writing, reading and after the end', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    const waiting: NewReading[] = []
    for (let tick = 0; tick < 10_000; tick++) {
      const readings = scan(tick, 3)
      if (tick % 97 === 0)
        readings[1] = { ...readings[1]!, raw: '9.9E37', value: null, marks: ['over-range'] }
      // Every other selection is read twice before it counts, far off.
      if (tick % 2 === 0)
        readings[2] = { ...readings[2]!, raw: '9', value: '9', marks: ['settling-discarded'] }
      if (tick % 1000 === 0) readings.push({ ...scan(tick, 4)[3]!, unit: 'degC', currentMa: null })
      // The computer's clock is set back by ten minutes once.
      waiting.push(...readings.map((r) => (tick > 6000 ? { ...r, utcUs: r.utcUs - 600_000_000 } : r)))
      if (tick % 20 === 19) file.commit({ readings: waiting.splice(0) })
    }
    const seconds = fc.integer({ min: -100, max: 10_100 })
    const check = (over: SessionFile, runs: number) => {
      // What is no part of the live picture is no part of this one: neither in extremes nor in counts.
      const third = over.overview({ channel: 'ch3', buckets: 20 })
      expect(Math.max(...third.max)).toBeLessThan(2)
      expect(third.n.reduce((a, b) => a + b)).toBe(5000)
      for (const channel of ['ch1', 'ch2', 'ch3', 'ch4', 'none']) expectSame(over, { channel, buckets: 50 })
      fc.assert(
        fc.property(
          seconds,
          seconds,
          fc.integer({ min: 1, max: 3000 }),
          fc.integer({ min: 0, max: 999_999 }),
          (a, b, buckets, us) => {
            for (const channel of ['ch2', 'ch3'])
              expectSame(over, {
                channel,
                fromUtcUs: START_UTC_US + Math.min(a, b) * 1_000_000 + us,
                toUtcUs: START_UTC_US + Math.max(a, b) * 1_000_000 + us,
                buckets,
              })
          },
        ),
        { numRuns: runs },
      )
    }
    check(file, 60)
    const reader = openSessionFile(path, { mode: 'read' })
    check(reader, 20)
    file.finish('complete', 'done')
    check(reader, 20)
    reader.close()
    file.close()
    const finished = openSessionFile(path, { mode: 'write', clock: exampleClock() })
    check(finished, 20)
    expect(finished.database.prepare('SELECT sum(count) FROM chunk').pluck().get()).toBe(
      finished.readingCount,
    )
    finished.close()
  })
})
