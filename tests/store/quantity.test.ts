import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { gridOf } from '../../main/store/overview.ts'
import { chainsOf, scaleOf } from '../../main/store/quantity.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { BENCH, REGISTER } from '../app/results/bench-fixture.ts'
import { exampleClock, exampleEvent, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

/** R(WTP) of the reference over the resistor, as the fixture's records have them: 25.50005 ohm, 100.0012 ohm. */
const AT_WTP = 25.50005 / 100.0012

function session() {
  const file = createSessionFile(join(temporaryFolder(), 'a.session'), {
    info: { ...exampleInfo, startedUtcUs: Date.UTC(2025, 6, 1) * 1000 },
    setup: { ...exampleSetup, bench: BENCH, register: REGISTER },
    clock: exampleClock(),
  })
  onTestFinished(() => file.close())
  const setpoint = (utcUs: number, celsius: unknown) => ({
    ...exampleEvent('set'),
    ...{ kind: 'setpoint' as const, utcUs, data: { celsius } },
  })
  file.commit({
    readings: [{ ...scan(0, 1)[0]!, channel: 'ref', currentMa: 1 }],
    events: [setpoint(100, 0), setpoint(200, 30), setpoint(300, 'unknown')],
  })
  return (quantity: Parameters<typeof scaleOf>[3], channel = 'ref') =>
    scaleOf(file, chainsOf(file).get(channel), channel, quantity)
}

it('leads from the number that was read to resistance, temperature and deviation from the setpoint of then', () => {
  const scale = session()
  expect([scale('raw').of(0.25, 0), scale('raw').unit]).toEqual([0.25, 'ratio'])
  expect(scale('resistance').unit).toBe('ohm')
  expect(scale('resistance').of(AT_WTP, 0)).toBeCloseTo(25.50005, 9)
  expect(scale('temperature').unit).toBe('degC')
  // The triple point of water less the 2 mK by which 1 mA heats the reference.
  const celsius = scale('temperature').of(AT_WTP, 0)
  expect(celsius).toBeCloseTo(0.008, 5)
  const { of, unit } = scale('deviation')
  expect(unit).toBe('mK')
  expect([of(AT_WTP, 99), of(AT_WTP, 100), of(AT_WTP, 199)]).toEqual([
    Number.NaN,
    celsius * 1000,
    celsius * 1000,
  ])
  expect(of(AT_WTP, 200)).toBeCloseTo((celsius - 30) * 1000, 9)
  // What is no temperature changes no setpoint.
  expect(of(AT_WTP, 301)).toBe(of(AT_WTP, 200))
})

it('takes unit and current of the reading, and those of the first one where none is given', () => {
  const scale = session()
  const { of } = scale('temperature')
  expect(of(AT_WTP, 0)).toBe(of(AT_WTP, 0, 'ratio', 1))
  // At zero current nothing heats.
  expect(of(AT_WTP, 0, 'ratio', 0)).toBeCloseTo(0.01, 5)
  expect(of(25.50005, 0, 'ohm', 0)).toBeCloseTo(0.01, 5)
  expect(() => scale('temperature', 'none')).toThrow('This session has no channel "none".')
  expect(scale('raw', 'none')).toMatchObject({ unit: 'ratio' })
})

it('lays at most so many buckets over a stretch, both ends in one, and wide ones on the grid of the cells', () => {
  for (const [from, to, buckets] of [
    [0, 9, 10],
    [5, 5, 3],
    [7, 1_000_003, 400],
    [1_750_000_000_000_123, 1_750_000_086_400_000, 997],
    [1_750_000_000_000_123, 1_750_086_400_000_000, 1000],
    [1_750_000_000_000_123, 1_750_000_000_600_000, 13],
  ] as const) {
    const { originUtcUs, widthUs } = gridOf(from, to, buckets)
    expect(originUtcUs).toBeLessThanOrEqual(from)
    expect(from - originUtcUs).toBeLessThan(widthUs)
    const last = Math.floor((to - originUtcUs) / widthUs)
    expect(last).toBeLessThan(buckets)
    const plain = (to - from + 1) / buckets
    // At most a quarter of the number asked for is lost to the grid, and a bucket is never wider than three parts in two.
    expect(widthUs).toBeGreaterThanOrEqual(plain)
    expect(widthUs).toBeLessThanOrEqual(Math.max(plain + 1, (4 / 3) * plain + 1))
  }
  expect(gridOf(0, 9, 10)).toEqual({ originUtcUs: 0, widthUs: 1 })
  // Three steps of 2^-6 s or more fit into 46875 us and not into less: below it a bucket stands where it is asked for.
  expect(gridOf(3, 3 + 46_874 * 10 - 1, 10)).toEqual({ originUtcUs: 3, widthUs: 46_874 })
  expect(gridOf(15_628, 15_628 + 46_875 * 10 - 1, 10).originUtcUs).toBe(15_625)
})
