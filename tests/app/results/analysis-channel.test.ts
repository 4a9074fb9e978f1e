import { describe, expect, it } from 'vitest'
import type { Point, PointChannel } from '../../../app/records/point.ts'
import {
  type ChannelRecord,
  calibrationMk,
  channelRecord,
  measuredSignal,
  yearsBetween,
  zeroCurrentSignal,
} from '../../../app/results/analysis-channel.ts'
import { simulate } from '../../report/fixture.ts'

/** Ohm for each kelvin, of all thermometers here. */
const SLOPE = 0.4
const FRACTION = 0.2

const recordOf = (thermometer: object = {}): ChannelRecord =>
  ({
    thermometer: { kind: 'prt', nominalOhm: 100, currentMa: 1, ...thermometer },
    channel: { id: 'x1', currentMa: 1 },
    resistor: null,
  }) as unknown as ChannelRecord

interface PairOfCurrents {
  readonly mk: number
  readonly u: number
  readonly pairs?: number
}

/** A point at which the thermometer has so many ohm, and perhaps was warmed so much by its own current. */
function pointAt(
  id: string,
  setpointC: number,
  ohm: number,
  pair: PairOfCurrents | null,
  kind = 'comparison',
) {
  const channel = {
    channel: 'x1',
    rawUnit: 'ohm',
    rawMean: ohm,
    signal: ohm,
    signalZeroCurrent: pair && ohm - SLOPE * pair.mk * 1e-3,
    selfHeatingMk: pair?.mk ?? null,
    uSelfHeatingMk: pair?.u ?? null,
    ...(pair?.pairs !== undefined && { nPairs: pair.pairs }),
  }
  return { id, setpointC, kind, channels: [channel] } as unknown as Point
}

const zero = (points: readonly Point[], id: string, record = recordOf()) => {
  const point = points.find((p) => p.id === id)!
  return zeroCurrentSignal(point, point.channels[0]!, record, points, () => SLOPE, FRACTION)!
}

describe('zeroCurrentSignal', () => {
  it('takes off the warming of the pair of currents taken at the point', () => {
    const found = zero([pointAt('p1', 0, 100, { mk: 6, u: 0.1, pairs: 4 })], 'p1')
    expect(found.signal).toBeCloseTo(100 - 0.4 * 0.006, 12)
    expect(found).toMatchObject({ measuredSignal: 100, from: 'pair', dof: 3 })
    expect(found.selfHeatingMk).toBeCloseTo(6, 9)
    expect(found.uMk).toBeCloseTo(0.1, 9)
  })

  it.each([
    [undefined, 1],
    [1, 1],
    [2, 1],
    [3, 2],
  ])('knows the warming of %s pairs with %i degrees of freedom', (pairs, dof) => {
    const pair = { mk: 6, u: 0.1, ...(pairs !== undefined && { pairs }) }
    expect(zero([pointAt('p1', 0, 100, pair)], 'p1').dof).toBe(dof)
  })

  it('takes all pairs of the bath together where one dissipation constant explains them', () => {
    // 0.06 mK for each ohm at both: the power at 1 mA is proportional to the resistance.
    const points = [
      pointAt('p1', 0, 100, { mk: 6, u: 0.1, pairs: 4 }),
      pointAt('p2', 100, 140, { mk: 8.4, u: 0.2, pairs: 2 }),
      pointAt('p3', 50, 120, null),
    ]
    // Pooled: u^2 = (3 x 0.1^2 + 1 x 0.2^2) / 4, over the root of the sum of R^2.
    const perOhm = Math.sqrt((3 * 0.01 + 0.04) / 4 / (100 ** 2 + 140 ** 2))
    const own = zero(points, 'p1')
    expect(own).toMatchObject({ from: 'pair', dof: 4 })
    expect(own.selfHeatingMk).toBeCloseTo(6, 9)
    expect(own.uMk).toBeCloseTo(100 * perOhm, 9)
    const elsewhere = zero(points, 'p3')
    expect(elsewhere).toMatchObject({ from: 'pair-elsewhere', dof: 4 })
    expect(elsewhere.selfHeatingMk).toBeCloseTo(7.2, 9)
    // One in twenty of what was not measured here.
    expect(elsewhere.uMk).toBeCloseTo(Math.hypot(120 * perOhm, 0.05 * 7.2), 9)
  })

  it('weighs the pairs of the bath by the square of the resistance, as least squares of a line through nothing does', () => {
    const points = [
      pointAt('p1', 0, 100, { mk: 6.1, u: 0.1, pairs: 10 }),
      pointAt('p2', 100, 140, { mk: 8.3, u: 0.1, pairs: 10 }),
    ]
    const perOhm = (100 * 6.1 + 140 * 8.3) / (100 ** 2 + 140 ** 2)
    expect(zero(points, 'p2').selfHeatingMk).toBeCloseTo(140 * perOhm, 9)
  })

  it('believes each of pairs that disagree at its own point, and elsewhere the one that is nearest in temperature', () => {
    const points = [
      pointAt('p1', 0, 100, { mk: 6, u: 0.1, pairs: 10 }),
      pointAt('p2', 100, 140, { mk: 20, u: 0.3, pairs: 6 }),
      pointAt('p3', 90, 135, null),
      pointAt('p4', 10, 104, null),
    ]
    expect(zero(points, 'p1').selfHeatingMk).toBeCloseTo(6, 9)
    expect(zero(points, 'p2').selfHeatingMk).toBeCloseTo(20, 9)
    for (const [id, ohm, of, mk, u, dof] of [
      ['p3', 135, 140, 20, 0.3, 5],
      ['p4', 104, 100, 6, 0.1, 9],
    ] as const) {
      const found = zero(points, id)
      const here = (mk / of) * ohm
      expect(found).toMatchObject({ from: 'pair-elsewhere', dof })
      expect(found.selfHeatingMk).toBeCloseTo(here, 9)
      expect(found.uMk).toBeCloseTo(Math.hypot((u / of) * ohm, FRACTION * here), 9)
    }
  })

  it('agrees with one dissipation constant up to chi-squared of 99 %, wider where few pairs tell their scatter', () => {
    // With R alike and u alike, chi-squared of two is (dt1 - dt2)^2 / (2 u^2): beside the t of 2 degrees of freedom (9.925 for
    // 99 %, JCGM 100:2008, table G.2) they agree up to 9.925 sqrt(2) u = 14.04 u.
    const agrees = (apart: number) =>
      zero(
        [
          pointAt('p1', 0, 100, { mk: 100, u: 1, pairs: 2 }),
          pointAt('p2', 50, 100, { mk: 100 + apart, u: 1, pairs: 2 }),
        ],
        'p1',
      ).selfHeatingMk > 101
    expect(agrees(13.9)).toBe(true)
    expect(agrees(14.1)).toBe(false)
  })

  it('takes no pair of the cell for the bath, and none of the bath for the cell', () => {
    const points = [
      pointAt('wtp-before', 0.01, 100, { mk: 9, u: 0.1 }, 'wtp-before'),
      pointAt('wtp-after', 0.01, 100, null, 'wtp-after'),
      pointAt('p1', 0, 100, null),
    ]
    expect(zero(points, 'p1')).toMatchObject({ selfHeatingMk: 0, uMk: 0, from: 'unknown', signal: 100 })
    expect(zero(points, 'wtp-after').selfHeatingMk).toBeCloseTo(9, 9)
  })

  it('leaves aside a pair of a point without a resistance to hold it against', () => {
    const pair = { mk: 6, u: 0.1, pairs: 4 }
    const points = [pointAt('p1', 0, 100, null), pointAt('p2', 50, 120, pair), pointAt('p3', 90, 0, pair)]
    Object.assign(points[1]!.channels[0]!, { rawUnit: 'degC', signal: null })
    expect(zero(points, 'p1')).toMatchObject({ from: 'unknown', signal: 100 })
    expect(
      zeroCurrentSignal(points[1]!, points[1]!.channels[0]!, recordOf(), points, () => SLOPE, FRACTION),
    ).toBeNull()
  })

  it('falls back on the register, known to its fraction, and says where nothing is known', () => {
    const found = zero([pointAt('p1', 0, 100, null)], 'p1', recordOf({ selfHeatingMk: 5 }))
    expect(found).toMatchObject({ from: 'register', dof: Number.POSITIVE_INFINITY })
    expect(found.selfHeatingMk).toBeCloseTo(5, 9)
    expect(found.uMk).toBeCloseTo(0.2 * 5, 9)
    expect(found.signal).toBeCloseTo(100 - 0.4 * 0.005, 12)
    expect(zero([pointAt('p1', 0, 100, null)], 'p1')).toMatchObject({ from: 'unknown', signal: 100, uMk: 0 })
  })

  it('recomputes the warming by the slope in use now, and its uncertainty with it', () => {
    const points = [pointAt('p1', 0, 100, { mk: 6, u: 0.3, pairs: 2 })]
    const found = zeroCurrentSignal(
      points[0]!,
      points[0]!.channels[0]!,
      recordOf(),
      points,
      () => SLOPE / 2,
      FRACTION,
    )!
    expect(found.selfHeatingMk).toBeCloseTo(12, 9)
    expect(found.uMk).toBeCloseTo(0.6, 9)
    // What it is at zero current was measured in ohm, and stays.
    expect(found.signal).toBeCloseTo(100 - 0.4 * 0.006, 12)
  })

  it('takes a warming as it was told where its part of the signal was not kept, and one without an uncertainty as known', () => {
    const told = (more: object) => {
      const point = pointAt('p1', 0, 100, { mk: 6, u: 0.3, pairs: 4 })
      Object.assign(point.channels[0]!, more)
      return zeroCurrentSignal(point, point.channels[0]!, recordOf(), [point], () => SLOPE / 2, FRACTION)!
    }
    for (const lost of [{ signal: null }, { signalZeroCurrent: null }]) {
      const found = told(lost)
      expect(found.selfHeatingMk).toBeCloseTo(6, 9)
      expect(found.uMk).toBeCloseTo(0.3, 9)
    }
    expect(told({ uSelfHeatingMk: null }).uMk).toBe(0)
    // A thermometer that was not warmed at all is known to that as well as its pairs tell.
    const cold = told({ selfHeatingMk: 0, signalZeroCurrent: 100 })
    expect(cold.selfHeatingMk).toBe(0)
    expect(cold.uMk).toBeCloseTo(0.3, 9)
  })
})

describe('measuredSignal', () => {
  const at = (rawUnit: string, rawMean: number, signal: number | null = null) =>
    ({ rawUnit, rawMean, signal }) as unknown as PointChannel

  it('is the ratio times the resistor in force, ohm as they are, and volts in millivolts', () => {
    const byResistor = { ...recordOf(), resistor: { value: { ohm: 100.002 } } } as unknown as ChannelRecord
    expect(measuredSignal(at('ratio', 1.1), byResistor)).toBeCloseTo(110.0022, 12)
    expect(measuredSignal(at('ratio', 1.1, 27.5), recordOf())).toBe(27.5)
    expect(measuredSignal(at('ohm', 108), recordOf())).toBe(108)
    expect(measuredSignal(at('V', 0.004096), recordOf())).toBeCloseTo(4.096, 12)
    expect(measuredSignal(at('mV', 4.096), recordOf())).toBe(4.096)
    expect(measuredSignal(at('degC', 25), recordOf())).toBeNull()
  })
})

describe('calibrationMk', () => {
  it('is U over its own k, linear between the temperatures of the certificate', () => {
    const points = [
      { celsius: 0, expandedMk: 1 },
      { celsius: 100, expandedMk: 4 },
    ]
    expect(calibrationMk({ k: 2, points }, 50)).toBe(1.25)
    expect(calibrationMk({ k: 2.5, points }, 100)).toBe(1.6)
    expect(calibrationMk(undefined, 50)).toBe(0)
  })
})

describe('yearsBetween', () => {
  it('counts 365.25 days to a year, and none before the first day', () => {
    expect(yearsBetween('2024-01-01', '2028-01-01')).toBe(4)
    expect(yearsBetween('2025-01-01', '2025-07-02')).toBeCloseTo(182 / 365.25, 12)
    expect(yearsBetween('2025-01-02', '2025-01-01')).toBe(0)
  })
})

describe('channelRecord', () => {
  const { setup } = simulate().input
  const channel = (id: string) => setup.bench.channels.find((c) => c.id === id)!

  it('finds what hangs on a channel as it stood on the day', () => {
    const record = channelRecord(channel('s0'), setup, '2026-03-01')!
    expect(record.thermometer.id).toBe('ref-25')
    expect(record.calibration!.id).toBe('ref-25-2025')
    expect(record.instrument!.id).toBe('rb-8')
    expect(record.wtp).toMatchObject({ date: '2025-12-04' })
    // Half a year of a drift of 2e-7 a year, from 100.000120 ohm.
    expect(record.resistor!.value.ohm / 100.00012 - 1).toBeCloseTo((2e-7 * 181) / 365.25, 10)
    expect(channelRecord(channel('s0'), setup, '2025-12-03')!.wtp).toMatchObject({ date: '2025-06-12' })
    expect(channelRecord(channel('x1'), setup, '2026-03-01')!.calibration).toBeNull()
  })

  it('is nothing where no thermometer hangs, and refuses a resistor that had no calibration yet', () => {
    expect(channelRecord({ ...channel('s0'), thermometer: 'none' }, setup, '2026-03-01')).toBeNull()
    expect(() => channelRecord(channel('s0'), setup, '2025-08-31')).toThrow(
      expect.objectContaining({ code: 'no-resistor' }),
    )
    const none = { kind: 'resistor' as const, resistor: 'gone' }
    expect(() => channelRecord({ ...channel('s0'), reference: none }, setup, '2026-03-01')).toThrow(
      expect.objectContaining({ code: 'no-resistor' }),
    )
  })

  it('takes an instrument by its own id where the bench names no entry of the register', () => {
    const bench = { ...setup.bench, instruments: [] }
    expect(
      channelRecord({ ...channel('s0'), instrument: 'rb-8' }, { ...setup, bench }, '2026-03-01')!.instrument!
        .id,
    ).toBe('rb-8')
    expect(channelRecord(channel('s0'), { ...setup, bench }, '2026-03-01')!.instrument).toBeNull()
  })
})
