import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { NewReading } from '../../app/records/reading.ts'
import { allanDeviations } from '../../app/statistics/allan.ts'
import { describeSamples } from '../../app/statistics/window.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { stretchStatistics } from '../../main/store/stretch-statistics.ts'
import { BENCH } from '../app/results/bench-fixture.ts'
import { exampleClock, exampleInfo, exampleSetup, START_UTC_US, scan, temporaryFolder } from './example.ts'
import { writeOldSession } from './old-session.ts'

const READINGS = 260_000

describe('stretchStatistics', () => {
  it('takes every reading of a stretch, however long, less those that do not count', () => {
    const path = join(temporaryFolder(), 'long.stillpoint')
    const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    file.database.pragma('synchronous = OFF')
    const times: number[] = []
    const values: number[] = []
    for (let from = 0; from < READINGS; from += 10_000) {
      const readings = Array.from({ length: 10_000 }, (_, i): NewReading => {
        const [reading] = scan(from + i, 1)
        if ((from + i) % 1000 === 7) return { ...reading!, raw: '9', value: '9', marks: ['spike-suspected'] }
        times.push(reading!.monoUs / 1e6)
        values.push(Number(reading!.value))
        return reading!
      })
      file.commit({ readings })
    }
    const described = describeSamples(times, values)
    const expected = {
      n: values.length,
      leftOut: READINGS / 1000,
      mean: described.mean,
      sd: described.sd,
      nEffective: described.nEffective,
      driftPerMin: described.drift * 60,
      span: described.span,
      unit: 'ratio',
    }
    const whole = { channel: 'ch1', quantity: 'raw' } as const
    const found = stretchStatistics(file, whole)
    expect(found).toMatchObject(expected)
    expect(found.allan.map(({ deviation }) => deviation)).toEqual(
      allanDeviations(values, 1).map(({ deviation }) => deviation),
    )
    const part = {
      ...whole,
      fromUtcUs: START_UTC_US + 1_000_000_000,
      toUtcUs: START_UTC_US + 250_000_000_000,
    }
    const inside = times.flatMap((t, i) => (t >= 1000 && t <= 250_000 ? [values[i]!] : []))
    expect(stretchStatistics(file, part)).toMatchObject({
      n: inside.length,
      mean: describeSamples(
        inside.map((_, i) => i),
        inside,
      ).mean,
    })
    file.close()
  })

  it('gives up between chunks, has no answer for nobody, and reads older files from their log', () => {
    const path = writeOldSession(temporaryFolder(), 2)
    const old = openSessionFile(path, { mode: 'read' })
    const rows = old.readings({ channel: 'ch2', most: 1e6 })
    expect(stretchStatistics(old, { channel: 'ch2', quantity: 'raw' })).toMatchObject({
      n: rows.length,
      mean: describeSamples(
        rows.map(({ monoUs }) => monoUs / 1e6),
        rows.map(({ value }) => Number(value)),
      ).mean,
    })
    expect(stretchStatistics(old, { channel: 'none', quantity: 'raw' })).toMatchObject({ n: 0, mean: null })
    expect(() => stretchStatistics(old, { channel: 'none', quantity: 'temperature' })).toThrow(
      /no channel "none"/,
    )
    const stop = () => {
      throw new Error('no longer wanted')
    }
    expect(() => stretchStatistics(old, { channel: 'ch2', quantity: 'raw' }, stop)).toThrow(
      'no longer wanted',
    )
    old.close()
  })

  it('needs no register for the numbers as they were read, and leaves out what is no number', () => {
    const [channel] = BENCH.channels
    const bench = { ...BENCH, channels: [{ ...channel!, id: 'ch1', thermometer: 'nobody' }] }
    const file = createSessionFile(join(temporaryFolder(), 'raw.stillpoint'), {
      info: exampleInfo,
      setup: { ...exampleSetup, bench },
      clock: exampleClock(),
    })
    const readings = ['1', '2', null, '4'].map((value, i): NewReading => {
      const [reading] = scan(60 * i, 1)
      return { ...reading!, raw: value ?? 'garbled', value }
    })
    file.commit({ readings })
    // 1, 2 and 4 at 0, 1 and 3 min lie on a line of 1 a minute.
    const found = stretchStatistics(file, { channel: 'ch1', quantity: 'raw' })
    expect(found).toMatchObject({ n: 3, leftOut: 1, unit: 'ratio' })
    expect(found.mean).toBeCloseTo(7 / 3, 12)
    expect(found.sd).toBeCloseTo(Math.sqrt(7 / 3), 12)
    expect(found.driftPerMin).toBeCloseTo(1, 9)
    expect(found.allan[0]!.tauS).toBe(90)
    expect(() => stretchStatistics(file, { channel: 'ch1', quantity: 'temperature' })).toThrow(/nobody/)
    const one = stretchStatistics(file, { channel: 'ch1', quantity: 'raw', toUtcUs: START_UTC_US })
    expect(one).toMatchObject({ n: 1, mean: 1, sd: null, driftPerMin: null, allan: [] })
    file.close()
  })
})
