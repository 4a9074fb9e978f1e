import { describe, expect, it } from 'vitest'
import { resistorCalibration, thermometerCalibration } from '../../../app/dcc/calibration.ts'
import type { DccReading, ReadPoint } from '../../../app/dcc/read.ts'
import { callendarVanDusenRatio } from '../../../app/thermometry/iec60751.ts'
import { thermocoupleEmf } from '../../../app/thermometry/thermocouple.ts'

type Item = NonNullable<Parameters<typeof thermometerCalibration>[2]>

const read = (more: Partial<DccReading> = {}): DccReading => ({
  schemaVersion: '3.3.0',
  number: 'Q-1',
  date: '2026-03-02',
  laboratory: 'Quennick Institute of Thermometry',
  item: { name: 'Thermometer', maker: 'Quennick', model: 'M', serial: '1' },
  values: [],
  points: [],
  coefficients: [],
  covariance: null,
  section: null,
  curve: [],
  lowC: null,
  highC: null,
  currentMa: 1,
  unread: [],
  ...more,
})

const coefficients = (all: Readonly<Record<string, string>>) =>
  Object.entries(all).map(
    ([label, value]) => ({ label, value, unit: '' }) as DccReading['coefficients'][number],
  )

const item = (kind: Item['kind'], more: Partial<Item> = {}): Item =>
  ({ kind, calibrations: [], wtpHistory: [], ...more }) as Item

const made = (...args: Parameters<typeof thermometerCalibration>) => {
  const found = thermometerCalibration(...args)
  if ('refusal' in found) throw new Error(found.refusal.words)
  return found.calibration
}
const refused = (...args: Parameters<typeof thermometerCalibration>) => {
  const found = thermometerCalibration(...args)
  return 'refusal' in found ? found.refusal.words : 'not refused'
}

const PRT = { R0: '100.02', A: '3.9083E-3', B: '-5.775E-7' }
const RANGE = { lowC: -40, highC: 200 }

describe('thermometerCalibration, of coefficients', () => {
  it('takes those of a platinum thermometer digit by digit, with C where it is stated', () => {
    expect(made(read({ coefficients: coefficients(PRT), ...RANGE }), 'x')).toMatchObject({
      id: 'x',
      certificate: 'Q-1',
      date: '2026-03-02',
      ...RANGE,
      conversion: { kind: 'callendar-van-dusen', r0: '100.02', a: '3.9083E-3', b: '-5.775E-7' },
      note: 'read from its digital certificate',
    })
    const withC = { ...PRT, C: '-4.183E-12' }
    expect(made(read({ coefficients: coefficients(withC), ...RANGE }), 'x').conversion).toMatchObject({
      c: '-4.183E-12',
    })
  })

  it.each([['R0'], ['A'], ['B']])('makes no relation where %s is missing', (missing) => {
    const rest = Object.fromEntries(Object.entries(PRT).filter(([label]) => label !== missing))
    expect(refused(read({ coefficients: coefficients(rest), ...RANGE }), 'x')).toMatch(
      /no coefficients that make/,
    )
  })

  it('takes those of a thermistor by their powers, none of them where A0 or A1 is missing', () => {
    const of = (all: Readonly<Record<string, string>>) =>
      read({ coefficients: coefficients(all), lowC: 0, highC: 70 })
    expect(made(of({ A0: '1.1e-3', A1: '2.3e-4', A3: '8.8e-8' }), 'x').conversion).toMatchObject({
      kind: 'steinhart-hart',
      coefficients: ['1.1e-3', '2.3e-4', '8.8e-8'],
      powers: [0, 1, 3],
    })
    expect(refused(of({ A0: '1.1e-3', A3: '8.8e-8' }), 'x')).toMatch(/no coefficients that make/)
    expect(refused(of({ A1: '2.3e-4', A3: '8.8e-8' }), 'x')).toMatch(/no coefficients that make/)
  })

  it('brings the deviation of a thermocouple from volts to millivolts, and its covariance', () => {
    const stated = read({
      coefficients: coefficients({ d0: '0.0000012', d2: '-3.1E-9' }),
      covariance: [
        [4e-14, 2e-17],
        [2e-17, 9e-20],
      ],
      lowC: 0,
      highC: 400,
    })
    const { conversion } = made(stated, 'x', item('thermocouple', { thermocoupleType: 'K' }))
    expect(conversion).toMatchObject({
      kind: 'thermocouple',
      type: 'K',
      deviation: ['0.0012', '0', '-0.0000031'],
      covariance: { names: ['0', '2'] },
    })
    const { covariance } = conversion as { covariance: { matrix: number[][] } }
    // Millivolts have a thousand times the number of volts, their squares a million times.
    expect(covariance.matrix[0]![0]! / 4e-8).toBeCloseTo(1, 9)
    expect(covariance.matrix[0]![1]! / 2e-11).toBeCloseTo(1, 9)
    // Of a type that nobody knows nothing is made.
    expect(refused(stated, 'x')).toMatch(/no coefficients that make/)
  })

  it.each([
    ['one temperature', { lowC: 20, highC: 20 }],
    ['ends that stand the wrong way round', { lowC: 30, highC: 20 }],
    ['neither ends nor points', {}],
  ])('refuses a range of %s', (_, range) => {
    expect(refused(read({ coefficients: coefficients(PRT), ...range }), 'x')).toMatch(
      /over which temperatures it holds/,
    )
  })
})

describe('thermometerCalibration, its uncertainty and range', () => {
  const point = (celsius: number, more: Partial<ReadPoint> = {}): ReadPoint => ({
    celsius: String(celsius),
    signal: '100',
    quantity: 'ohm',
    expanded: '0.0060',
    k: '3',
    ...more,
  })
  const points = [point(100), point(-20), point(60)]

  it('is that of the curve where one is stated, brought to k = 2', () => {
    const curve = [{ celsius: 0, expandedMk: 9, k: 3 }]
    const { uncertainty } = made(read({ coefficients: coefficients(PRT), ...RANGE, curve, points }), 'x')
    expect(uncertainty).toEqual({ k: 2, points: [{ celsius: 0, expandedMk: 6 }] })
  })

  it('is that of the points else, by the slope there, to four digits', () => {
    const { uncertainty, lowC, highC } = made(read({ coefficients: coefficients(PRT), points }), 'x')
    // U = 6 mΩ at k = 3 is 4 mΩ at k = 2; dR/dt = R0 (A + 2 B t).
    const mk = (t: number) => 4 / (100.02 * (3.9083e-3 - 2 * 5.775e-7 * t))
    expect(uncertainty!.k).toBe(2)
    expect(uncertainty!.points).toEqual(
      [100, -20, 60].map((t) => ({ celsius: t, expandedMk: Number(mk(t).toPrecision(4)) })),
    )
    // The points reach from -20 °C to 100 °C, in whatever order they stand.
    expect([lowC, highC]).toEqual([-20, 100])
  })

  it('is not stated where no point states one, nor of a point that shows a temperature', () => {
    const bare = [point(0, { expanded: null }), point(100, { quantity: 'celsius', signal: '100.1' })]
    expect(made(read({ coefficients: coefficients(PRT), points: bare }), 'x')).not.toHaveProperty(
      'uncertainty',
    )
  })

  it('of a thermocouple is brought from volts to millivolts', () => {
    const stated = read({
      coefficients: coefficients({ d0: '0', d1: '0' }),
      points: [0, 100].map((t) => point(t, { quantity: 'volt', expanded: '0.0000041', k: '2' })),
    })
    const { uncertainty } = made(stated, 'x', item('thermocouple', { thermocoupleType: 'K' }))
    // 4.1 µV at 39.45 µV/K, the slope of type K at 0 °C (NIST Monograph 175).
    expect(uncertainty!.points[0]!.expandedMk).toBeCloseTo((4.1 / 39.45) * 1e3, 0)
  })
})

describe('thermometerCalibration, of points alone', () => {
  const ohms = (
    temperatures: readonly number[],
    off: readonly number[] = [],
    expanded = '0.0040',
  ): ReadPoint[] =>
    temperatures.map((t, i) => ({
      celsius: String(t),
      signal: String(100 * callendarVanDusenRatio({ a: 3.9083e-3, b: -5.775e-7, c: 0 }, t) + (off[i] ?? 0)),
      quantity: 'ohm',
      expanded,
      k: '2',
    }))

  it('adds the scatter about the relation to what each point states', () => {
    const off = [2e-3, -3e-3, 1e-3, 2e-3, -2e-3]
    const { uncertainty, note } = made(read({ points: ohms([0, 25, 50, 75, 100], off) }), 'x', item('prt'))
    expect(note).toMatch(/fitted here through its points/)
    // Stated: 4 mΩ over 0.3908 Ω/K at 0 °C.
    const stated = 4 / 0.39083
    const scatterMk = Math.sqrt((uncertainty!.points[0]!.expandedMk / 2) ** 2 - (stated / 2) ** 2)
    // By hand, mΩ: off by 2, -3, 1, 2, -2 about a parabola leaves 1.543, -3.371, 0.857, 2.229, -1.257; by the slopes of 0.3908 to
    // 0.3793 Ω/K these are 3.95, -8.69, 2.23, 5.83, -3.31 mK, whose sum of squares is 141.1 mK² at two degrees of freedom.
    expect(scatterMk).toBeCloseTo(8.4, 1)
    const exact = made(read({ points: ohms([0, 50, 100]) }), 'x', item('prt'))
    expect(exact.uncertainty!.points[0]!.expandedMk).toBeCloseTo(stated, 2)
  })

  it('refuses a point beyond its own U from the relation, and fewer than two points', () => {
    const far = ohms([0, 25, 50, 75, 100], [0, 0, 0.02])
    expect(refused(read({ points: far }), 'x', item('prt'))).toMatch(/50 °C lies farther from the relation/)
    expect(refused(read({ points: ohms([0]) }), 'x', item('prt'))).toMatch(/states neither/)
    // Points of another quantity are none of its relation.
    const shown = ohms([0, 50, 100]).map((p) => ({ ...p, quantity: 'celsius' as const }))
    expect(refused(read({ points: shown }), 'x', item('prt'))).toBe(
      refused(read({ points: ohms([0]) }), 'x', item('prt')),
    )
  })

  it('fits a thermocouple by a deviation of the second degree at most, in millivolts', () => {
    const volts = (temperatures: readonly number[], offMv: readonly number[] = []): ReadPoint[] =>
      temperatures.map((t, i) => ({
        celsius: String(t),
        signal: ((thermocoupleEmf('K', t) + 1e-5 * t + (offMv[i] ?? 0)) / 1e3).toFixed(12),
        quantity: 'volt',
        expanded: '0.000004',
        k: '2',
      }))
    const known = item('thermocouple', { thermocoupleType: 'K' })
    const lengthFor = (temperatures: readonly number[]) =>
      (made(read({ points: volts(temperatures) }), 'x', known).conversion as { deviation: unknown[] })
        .deviation.length
    expect(
      [
        [0, 100],
        [0, 50, 100],
        [0, 50, 100, 150],
      ].map(lengthFor),
    ).toEqual([2, 3, 3])
    // 3 µV off are within U of 4 µV, 8 µV are not.
    const wave = (uV: number) => [uV, -uV, uV, -uV, uV, -uV].map((x) => x * 1e-3)
    const temperatures = [0, 40, 80, 120, 160, 200]
    expect(refused(read({ points: volts(temperatures, wave(3)) }), 'x', known)).toBe('not refused')
    expect(refused(read({ points: volts(temperatures, wave(8)) }), 'x', known)).toMatch(/°C/)
  })
})

describe('resistorCalibration', () => {
  const one: ReadPoint = {
    celsius: '23.00',
    signal: '100.00012',
    quantity: 'ohm',
    expanded: '0.00002',
    k: '2',
  }

  it('takes one resistance with its relative U', () => {
    const found = resistorCalibration(read({ points: [one] }), 'r')
    expect(found).toMatchObject({ calibration: { id: 'r', ohm: '100.00012', celsius: 23, k: 2 } })
    expect('calibration' in found && found.calibration.expandedRelative).toBeCloseTo(2e-7, 12)
  })

  it.each([
    ['none', []],
    ['two', [one, one]],
    ['a temperature', [{ ...one, quantity: 'celsius' as const }]],
    ['one without U', [{ ...one, expanded: null }]],
  ])('refuses %s', (_, points) => {
    expect(resistorCalibration(read({ points }), 'r')).toHaveProperty('refusal')
  })
})
