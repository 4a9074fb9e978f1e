import { describe, expect, it } from 'vitest'
import type { Conversion, Its90Conversion } from '../../../app/kinds/conversion.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { ThermometryError } from '../../../app/thermometry/errors.ts'

const platinum: Its90Conversion = {
  kind: 'its90',
  rWtp: 25.5,
  coefficients: { a: -1.4e-4, b: -6.8e-6, c: 9.4e-7 },
}

/** Change of the result when one number of the conversion is moved by h, divided by h. */
function sensitivity(of: (x: number) => number, x: number, h: number) {
  return (of(x + h) - of(x - h)) / (2 * h)
}

describe('prepare', () => {
  it('takes a resistance where R(WTP) is known and a ratio where it is not', () => {
    expect(prepare(platinum).signal).toBe('resistance')
    const { rWtp: _, ...ratio } = platinum
    expect(prepare(ratio).signal).toBe('ratio')
    expect(() => prepare(ratio).toTemperature(25.5, { quantity: 'resistance' })).toThrow(ThermometryError)
  })

  it('refuses a quantity that the kind does not have', () => {
    expect(() => prepare(platinum).toTemperature(1, { quantity: 'voltage' })).toThrow(/no voltage/)
    expect(() => prepare({ kind: 'beta', r0: 1e4, beta: 3950 }).toSignal(20, { quantity: 'ratio' })).toThrow(
      /no ratio/,
    )
  })

  it('gives the same temperature without its slope, to the last digit, in and out of range', () => {
    const kinds = [
      prepare(platinum),
      prepare({ kind: 'beta', r0: 1e4, beta: 3950 }),
      prepare({ kind: 'thermocouple', type: 'K', referenceJunction: 23.4 }),
    ]
    let known = 0
    for (const prepared of kinds)
      for (const t90 of [-400, -100, -1, 0, 0.01, 37.123, 231.9, 600, 2000, 1e5]) {
        const { value } = prepared.toSignal(t90)
        for (const signal of [value, value * 1.001, -value, 0, Number.NaN]) {
          const temperature = prepared.toTemperature(signal).value
          expect(prepared.temperatureOf(signal)).toBe(temperature)
          if (Number.isFinite(temperature)) known += 1
        }
      }
    expect(known).toBeGreaterThan(20)
    expect(kinds[2]!.temperatureOf(4, { referenceJunction: 5 })).toBe(
      kinds[2]!.toTemperature(4, { referenceJunction: 5 }).value,
    )
  })

  it('follows a reference junction given with the reading', () => {
    const ice = prepare({ kind: 'thermocouple', type: 'K' })
    const fixed = prepare({ kind: 'thermocouple', type: 'K', referenceJunction: 23.4 })
    expect(ice.toTemperature(4, { referenceJunction: 23.4 }).value).toBe(fixed.toTemperature(4).value)
    expect(ice.toSignal(300, { referenceJunction: 23.4 }).value).toBe(fixed.toSignal(300).value)
  })

  it('marks a reference junction outside the range of the type', () => {
    const odd = prepare({ kind: 'thermocouple', type: 'B', referenceJunction: -5 })
    expect(odd.toTemperature(5).marks).toEqual(['outside-range'])
    expect(odd.toTemperature(5).message).toMatch(/reference junction at -5 degC/)
  })

  it('does not mark the reference junction for lying outside a calibration of the hot end', () => {
    const hot = prepare({ kind: 'thermocouple', type: 'S', referenceJunction: 23, range: [400, 1100] })
    expect(hot.toTemperature(7).marks).toEqual([])
    expect(hot.toTemperature(1).marks).toEqual(['outside-range'])
  })

  it('narrows the range to what a certificate declares', () => {
    const narrow = prepare({ ...platinum, range: [0, 250] })
    expect(narrow.toSignal(251).marks).toEqual(['outside-range'])
    expect(narrow.toSignal(251).message).toMatch(/0 degC to 250 degC, the range of this calibration/)
    expect(narrow.toSignal(250).marks).toEqual([])
  })

  it('does not mark an end of the range given with eight decimals of W', () => {
    const ideal = { kind: 'its90', subrange: '3.3.2', coefficients: { a: 0, b: 0, c: 0, d: 0 } } as const
    expect(prepare(ideal).toTemperature(4.28642053).marks).toEqual([])
    expect(prepare(ideal).toTemperature(0.99996).marks).toEqual(['outside-range'])
    const cold = {
      kind: 'its90',
      subrange: '3.3.1',
      coefficients: { a: 0, b: 0, c1: 0, c2: 0, c3: 0, c4: 0, c5: 0 },
    } as const
    expect(prepare(cold).toTemperature(0.00119007).marks).toEqual([])
    expect(prepare(cold).toTemperature(0.0011).marks).toEqual(['outside-range'])
  })

  it('gives NaN and a mark, not a number, where the relation cannot be followed', () => {
    const { value, marks, message } = prepare(platinum).toTemperature(1e6)
    expect(value).toBeNaN()
    expect(marks).toEqual(['outside-range'])
    expect(message).toMatch(/gives no temperature/)
    expect(prepare(platinum).toTemperature(Number.NaN).marks).toEqual(['outside-range'])
  })

  it('gives every temperature of a table or polynomial that turns', () => {
    const turning = prepare({
      kind: 'table',
      x: [0, 1, 2],
      y: [0, 10, 0],
      from: 'temperature',
      to: 'voltage',
    })
    expect(turning.toTemperature(5).marks).toEqual(['two-answers'])
    expect(turning.toTemperature(5).message).toMatch(/0\.5 and 1\.5 degC/)
    expect(turning.toTemperature(10).marks).toEqual([])
    const parabola = prepare({ kind: 'polynomial', coefficients: [0, 1, -0.01], range: [0, 100] })
    expect(parabola.toSignal(20).marks).toEqual(['two-answers'])
  })

  it('gives both answers of thermocouple type B below 42 degC, the higher first', () => {
    const b = prepare({ kind: 'thermocouple', type: 'B' })
    for (let t = 22; t < 42; t += 1) {
      const back = b.toTemperature(b.toSignal(t).value)
      expect(Math.abs(back.value - t)).toBeLessThan(1e-6)
      expect(back.marks).toEqual(['two-answers'])
    }
    for (let t = 1; t < 21; t += 1) {
      const back = b.toTemperature(b.toSignal(t).value)
      expect(back.value).toBeGreaterThan(21)
      const lower = Number(/and ([\d.]+) degC/.exec(back.message!)![1])
      expect(Math.abs(lower - t)).toBeLessThan(1e-6)
    }
  })
})

describe('uncertainty', () => {
  it('propagates the reading, R(WTP) and the resistor by their sensitivities', () => {
    const R = 65
    const at = (rWtp: number, r = R) => prepare({ ...platinum, rWtp }).toTemperature(r).value
    const { contributions, standardUncertainty } = prepare({ ...platinum, uRWtp: 2e-5 }).uncertainty(R, {
      reading: 3e-5,
      rsRelative: 1e-7,
    })
    const by = Object.fromEntries(contributions.map((c) => [c.name, c]))
    expect(by.reading!.sensitivity).toBeCloseTo(
      sensitivity((r) => at(25.5, r), R, 1e-3),
      6,
    )
    expect(by.rWtp!.sensitivity).toBeCloseTo(sensitivity(at, 25.5, 1e-3), 5)
    expect(by.rs!.sensitivity).toBeCloseTo(
      sensitivity((e) => at(25.5, R * (1 + e)), 0, 1e-5),
      3,
    )
    const sum = contributions.reduce((total, c) => total + c.contribution ** 2, 0)
    expect(standardUncertainty).toBeCloseTo(Math.sqrt(sum), 15)
  })

  const covariant: readonly (readonly [string, Conversion, number, (moved: number[]) => Conversion])[] = [
    [
      'its90',
      {
        ...platinum,
        covariance: {
          names: ['a', 'b', 'c'],
          matrix: [
            [1e-14, -4e-15, 1e-15],
            [-4e-15, 3e-15, -8e-16],
            [1e-15, -8e-16, 4e-16],
          ],
        },
      },
      65,
      ([a, b, c]) => ({ ...platinum, coefficients: { a: -1.4e-4 + a!, b: -6.8e-6 + b!, c: 9.4e-7 + c! } }),
    ],
    [
      'callendar-van-dusen',
      {
        kind: 'callendar-van-dusen',
        r0: 100,
        a: 3.9083e-3,
        b: -5.775e-7,
        c: -4.183e-12,
        covariance: {
          names: ['a', 'b', 'c'],
          matrix: [
            [1e-14, -1e-17, 0],
            [-1e-17, 1e-18, 0],
            [0, 0, 1e-26],
          ],
        },
      },
      50,
      ([a, b, c]) => ({
        kind: 'callendar-van-dusen',
        r0: 100,
        a: 3.9083e-3 + a!,
        b: -5.775e-7 + b!,
        c: -4.183e-12 + c!,
      }),
    ],
    [
      'callendar-van-dusen with R0 correlated',
      {
        kind: 'callendar-van-dusen',
        r0: 100,
        a: 3.9083e-3,
        b: -5.775e-7,
        covariance: {
          names: ['r0', 'a', 'b'],
          matrix: [
            [1e-6, -8e-11, 1e-14],
            [-8e-11, 1e-14, -8e-18],
            [1e-14, -8e-18, 1e-20],
          ],
        },
      },
      138.5,
      ([r0, a, b]) => ({
        kind: 'callendar-van-dusen',
        r0: 100 + r0!,
        a: 3.9083e-3 + a!,
        b: -5.775e-7 + b!,
      }),
    ],
    [
      'steinhart-hart',
      {
        kind: 'steinhart-hart',
        coefficients: [1.4e-3, 2.37e-4, 9.9e-8],
        covariance: {
          names: ['0', '1', '3'],
          matrix: [
            [1e-12, -1e-13, 0],
            [-1e-13, 4e-14, 0],
            [0, 0, 1e-20],
          ],
        },
      },
      3000,
      ([a, b, c]) => ({ kind: 'steinhart-hart', coefficients: [1.4e-3 + a!, 2.37e-4 + b!, 9.9e-8 + c!] }),
    ],
    [
      'beta',
      {
        kind: 'beta',
        r0: 10_000,
        beta: 3950,
        covariance: {
          names: ['r0', 'beta'],
          matrix: [
            [4, 1],
            [1, 9],
          ],
        },
      },
      5000,
      ([r0, beta]) => ({ kind: 'beta', r0: 10_000 + r0!, beta: 3950 + beta! }),
    ],
    [
      'polynomial',
      {
        kind: 'polynomial',
        coefficients: [1, 2, 0.01],
        covariance: {
          names: ['0', '1', '2'],
          matrix: [
            [1e-4, 0, 0],
            [0, 1e-6, -1e-8],
            [0, -1e-8, 1e-9],
          ],
        },
      },
      12,
      ([a, b, c]) => ({ kind: 'polynomial', coefficients: [1 + a!, 2 + b!, 0.01 + c!] }),
    ],
    [
      'thermocouple',
      {
        kind: 'thermocouple',
        type: 'S',
        referenceJunction: 23,
        deviation: [0, 1e-4],
        covariance: { names: ['1'], matrix: [[1e-10]] },
      },
      7,
      ([b]) => ({ kind: 'thermocouple', type: 'S', referenceJunction: 23, deviation: [0, 1e-4 + b!] }),
    ],
  ]

  it.each(covariant)(
    'carries the covariance of the coefficients of %s, as differences do',
    (_, conversion, value, moved) => {
      const { names, matrix } = (conversion as Its90Conversion).covariance!
      const gradient = names.map((_name, i) => {
        const h = Math.sqrt(matrix[i]![i]!)
        const at = (step: number) =>
          prepare(moved(names.map((_n, j) => (i === j ? step : 0)))).toTemperature(value).value
        return sensitivity(at, 0, h)
      })
      const variance = gradient.reduce(
        (sum, p, i) => sum + gradient.reduce((inner, q, j) => inner + p * q * matrix[i]![j]!, 0),
        0,
      )
      const { standardUncertainty } = prepare(conversion).uncertainty(value, {})
      expect(standardUncertainty / Math.sqrt(variance)).toBeCloseTo(1, 4)
      // The other way round, at the same place: u(signal) = u(t) |dSignal/dt|.
      const t90 = prepare(conversion).toTemperature(value).value
      const { dValueDInput } = prepare(conversion).toSignal(t90)
      const back = prepare(conversion).signalUncertainty(t90, {}).standardUncertainty
      expect(back / (Math.sqrt(variance) * Math.abs(dValueDInput))).toBeCloseTo(1, 4)
    },
  )

  it('propagates the reference junction', () => {
    const couple = (referenceJunction: number) =>
      prepare({ kind: 'thermocouple', type: 'K', referenceJunction })
    const { contributions } = couple(23).uncertainty(10, { referenceJunction: 0.1 })
    const expected = sensitivity((t) => couple(t).toTemperature(10).value, 23, 1e-3)
    expect(contributions[0]!.sensitivity).toBeCloseTo(expected, 6)
  })

  it('keeps two joined covariances apart', () => {
    const below = {
      subrange: '3.3.1.3',
      coefficients: { a: -1.6e-4, b: 1e-5 },
      covariance: {
        names: ['a', 'b'],
        matrix: [
          [1e-12, 0],
          [0, 1e-12],
        ],
      },
    } as const
    const joined = prepare({
      ...platinum,
      joined: {
        ...below,
        covariance: {
          names: ['a', 'b'],
          matrix: [
            [1e-12, 0],
            [0, 1e-12],
          ],
        },
      },
    })
    const alone = prepare({
      kind: 'its90',
      rWtp: 25.5,
      ...below,
      covariance: {
        names: ['a', 'b'],
        matrix: [
          [1e-12, 0],
          [0, 1e-12],
        ],
      },
    })
    expect(joined.uncertainty(15, {}).standardUncertainty).toBeCloseTo(
      alone.uncertainty(15, {}).standardUncertainty,
      15,
    )
    expect(joined.uncertainty(40, {}).standardUncertainty).toBe(0)
  })

  it('gives each of two joined sets its own covariance, where both state one', () => {
    const covariance = (a: number, b: number, ab: number) => ({
      names: ['a', 'b'],
      matrix: [
        [a, ab],
        [ab, b],
      ],
    })
    const above = {
      kind: 'its90',
      rWtp: 25.5,
      subrange: '3.3.2.3',
      coefficients: { a: -1.2e-4, b: -8e-6 },
      covariance: covariance(4e-12, 9e-12, -5e-12),
    } as const
    const below = {
      subrange: '3.3.1.3',
      coefficients: { a: -1.6e-4, b: 1e-5 },
      covariance: covariance(2e-13, 3e-13, 1e-13),
    } as const
    const u = (conversion: Parameters<typeof prepare>[0], ohm: number) =>
      prepare(conversion).uncertainty(ohm, {}).standardUncertainty
    const both = { ...above, joined: below }
    expect(u(both, 40)).toBeGreaterThan(0)
    expect(u(both, 40) / u(above, 40)).toBeCloseTo(1, 12)
    expect(u(both, 15) / u({ kind: 'its90', rWtp: 25.5, ...below }, 15)).toBeCloseTo(1, 12)
    // The same with the lower set named first.
    const { kind, rWtp, ...joined } = above
    expect(u({ kind, rWtp, ...below, joined }, 40) / u(above, 40)).toBeCloseTo(1, 12)
  })
})
