import { describe, expect, it } from 'vitest'
import { type CalibrationPoint, fitThermometer } from '../../../app/fit/fit.ts'
import { answerFitLine } from '../../../app/fit/fit-request.ts'
import { callendarVanDusenRatio, callendarVanDusenSlope } from '../../../app/thermometry/iec60751.ts'

const R0 = 100.02
const RELATION = { r0: R0, a: 3.91e-3, b: -5.8e-7, c: -4.2e-12 }

const at = (t90C: number, more: object = {}): CalibrationPoint => ({
  t90C,
  signal: R0 * callendarVanDusenRatio(RELATION, t90C),
  ...more,
})
const fitted = (points: readonly CalibrationPoint[], model: object = {}) =>
  fitThermometer({ model: { kind: 'callendar-van-dusen', ...model }, points })
const points = (...temperatures: number[]) => temperatures.map((t) => at(t))

describe('fitThermometer, callendar-van-dusen: which coefficients', () => {
  it.each([
    [
      'a point below 0 °C and four temperatures',
      [-50, 0, 50, 100],
      {},
      ['r0', 'a', 'b', 'c'],
      /C was fitted/,
    ],
    ['a point just below 0 °C', [-0.5, 30, 50, 100], {}, ['r0', 'a', 'b', 'c'], /C was fitted/],
    ['three temperatures', [-50, 0, 50, 50], {}, ['r0', 'a', 'b'], /too few points/],
    ['three temperatures, R0 held', [-50, 50, 100], { r0: R0 }, ['a', 'b', 'c'], /C was fitted/],
    ['two temperatures, R0 held', [-50, 50], { r0: R0 }, ['a', 'b'], /too few points/],
    ['nothing below 0 °C', [0, 30, 50, 100], {}, ['r0', 'a', 'b'], /no point lies below 0/],
    ['three temperatures, none below 0 °C', [0, 50, 100], {}, ['r0', 'a', 'b'], /no point lies below 0/],
  ])('%s', (_, temperatures, model, names, note) => {
    const found = fitted(points(...temperatures), model)
    expect(found.names).toEqual(names)
    if (!names.includes('c')) expect(found.conversion).toMatchObject({ c: 0 })
    expect(found.notes).toEqual([expect.stringMatching(note)])
  })

  it('fits C where it is asked for, and holds it where it is told, and says nothing of either', () => {
    const asked = fitted(points(-80, -50, 50, 100), { c: true })
    expect(asked.coefficients.c! / RELATION.c).toBeCloseTo(1, 9)
    const held = fitted(points(-80, -50, 50, 100), { c: RELATION.c })
    expect(held.names).toEqual(['r0', 'a', 'b'])
    expect(held.coefficients.a! / RELATION.a).toBeCloseTo(1, 9)
    expect(held.conversion).toMatchObject({ c: RELATION.c })
    const heldBoth = fitted(points(-80, -50, 50, 100), { c: RELATION.c, r0: R0 })
    expect(heldBoth.coefficients.b! / RELATION.b).toBeCloseTo(1, 6)
    for (const { notes } of [asked, held, heldBoth]) expect(notes).toEqual([])
  })

  it('fits a thermometer of a quarter of an ohm', () => {
    const quarter = points(0, 1, 2, 3, 4).map((p) => ({ ...p, signal: p.signal / 400 }))
    const found = fitted(quarter)
    expect(found.coefficients.r0).toBeCloseTo(R0 / 400, 12)
    // Exact points, however little their resistances differ.
    expect(found.rSquared).toBeCloseTo(1, 9)
  })

  it('keeps the range of its points, and the covariance where it is known', () => {
    const known = fitted([100, 0, 50].map((t) => at(t, { uSignal: 1e-3 })))
    expect(known.conversion).toMatchObject({
      range: [0, 100],
      covariance: { names: ['r0', 'a', 'b'], matrix: known.covariance },
    })
    // As many points as coefficients, and nothing said of them: nothing is known of the scatter.
    expect(fitted(points(0, 50, 100)).conversion).not.toHaveProperty('covariance')
  })

  it('refuses a relation whose R(0 °C) is not above 0, and points that are no resistances', () => {
    // A line through these points is at -100 ohm at 0 °C, at 0 ohm with the second row.
    for (const signals of [
      [100, 300, 500],
      [100, 200, 300],
    ])
      expect(() => fitted(signals.map((signal, i) => ({ t90C: 100 + 100 * i, signal })))).toThrow(
        expect.objectContaining({ code: 'not-determined' }),
      )
    const with_ = (wrong: CalibrationPoint) => () => fitted([...points(0, 50, 100), wrong])
    expect(with_({ t90C: 20, signal: 0 })).toThrow(expect.objectContaining({ code: 'out-of-range' }))
    expect(with_({ t90C: Number.NaN, signal: 100 })).toThrow(expect.objectContaining({ code: 'not-finite' }))
    expect(with_({ t90C: 20, signal: Number.NaN })).toThrow(expect.objectContaining({ code: 'not-finite' }))
  })
})

describe('fitThermometer, callendar-van-dusen: uncertainties', () => {
  const u = 1e-3

  it('gives u(R0) of the point at 0 °C, and none where R0 is held', () => {
    // As many points as coefficients: R0 is the resistance at 0 °C and has its uncertainty.
    const free = fitted([0, 50, 100].map((t) => at(t, { uSignal: u })))
    expect((free.conversion as { uR0?: number }).uR0).toBeCloseTo(u, 12)
    expect(free.standardUncertainties[0]).toBeCloseTo(u, 12)
    const held = fitted(
      [50, 100].map((t) => at(t, { uSignal: u })),
      { r0: R0 },
    )
    expect(held.conversion).not.toHaveProperty('uR0')
    // Two points, two coefficients: R = R0 (1 + A t + B t²) gives A = (4 x1 - x2)/100, x = R/R0 - 1, by hand.
    expect(held.standardUncertainties[0]).toBeCloseTo((Math.hypot(4, 1) * u) / R0 / 100, 12)
    expect(held.standardUncertainties[1]! * 1e6).toBeCloseTo(((Math.hypot(-2, 1) * u) / R0 / 5000) * 1e6, 9)
    expect(held.covariance[0]![1]).toBe(held.covariance[1]![0])
    expect(held.covariance[0]![1]).toBeLessThan(0)
  })

  it.each([
    ['all four', [-60, 0, 50, 100], {}],
    ['R0 held', [-60, 50, 100], { r0: R0 }],
  ])(
    'gives each point back as uncertain as it was, where there is one for each coefficient: %s',
    (_, own, model) => {
      const found = fitted(
        own.map((t) => at(t, { uSignal: u })),
        model,
      )
      for (const t of own)
        expect(
          found.temperatureUncertainty(t) / (u / (R0 * callendarVanDusenSlope(RELATION, t))),
        ).toBeCloseTo(1, 6)
      expect(found.leaveOneOutK).toEqual(own.map(() => Number.NaN))
      expect([found.residualSdK, found.residualSdSignal]).toEqual([Number.NaN, Number.NaN])
    },
  )

  it('takes an uncertainty of t90 by the slope of the thermometer', () => {
    const uT = 2e-3
    const byT = fitted([0, 50, 100].map((t) => at(t, { uT })))
    for (const t of [0, 50, 100]) expect(byT.temperatureUncertainty(t) / uT).toBeCloseTo(1, 6)
    // One point states the one, the others the other: each is as uncertain as it says.
    const mixed = fitted([at(0, { uSignal: u }), at(50, { uT }), at(100, { uSignal: u })])
    expect(mixed.covarianceFrom).toBe('uncertainties')
    expect(mixed.temperatureUncertainty(50) / uT).toBeCloseTo(1, 6)
    expect(mixed.temperatureUncertainty(0) / (u / (R0 * RELATION.a))).toBeCloseTo(1, 6)
    const both = fitted([0, 50, 100].map((t) => at(t, { uT, uSignal: u })))
    // 2 mK and 1 mΩ, which is 2.56 mK at 0.3911 Ω/K.
    expect(both.temperatureUncertainty(0)).toBeCloseTo(Math.hypot(uT, u / (R0 * RELATION.a)), 8)
  })

  it('weighs by uncertainties only where every point states one, else by weights, 1 where none is stated', () => {
    const off = [0, 3, -2, 4, -1].map((r) => r * 1e-3)
    const own = (more: (i: number) => object) =>
      [0, 25, 50, 75, 100].map((t, i) => ({ t90C: t, signal: at(t).signal + off[i]!, ...more(i) }))
    const plain = fitted(own(() => ({})))
    expect(plain.covarianceFrom).toBe('residuals')
    const some = fitted(own((i) => (i === 2 ? {} : { uSignal: u * (i + 1) })))
    expect([some.covarianceFrom, some.coefficients]).toEqual(['residuals', plain.coefficients])
    const without = fitted(own(() => ({})).filter((__, i) => i !== 2))
    const zero = fitted(own((i) => (i === 2 ? { weight: 0 } : {})))
    expect(zero.coefficients.a! / without.coefficients.a!).toBeCloseTo(1, 9)
    expect(zero.degreesOfFreedom).toBe(without.degreesOfFreedom)
    expect(zero.residualSdSignal / without.residualSdSignal).toBeCloseTo(1, 9)
    const weights = [4, 1, 4, 4, 4]
    const byWeight = fitted(own((i) => (i === 1 ? {} : { weight: weights[i] })))
    const byU = fitted(own((i) => ({ uSignal: u / Math.sqrt(weights[i]!) })))
    expect(byWeight.coefficients.b! / byU.coefficients.b!).toBeCloseTo(1, 9)
    expect(byWeight.covarianceFrom).toBe('residuals')
    expect(byU.covarianceFrom).toBe('uncertainties')
  })
})

describe('what a fit says of its points', () => {
  const OFF = [2, -3, 1, 4, -2, -2].map((r) => r * 1e-3)
  const TEMPERATURES = [0, 20, 40, 60, 80, 100]
  const own = TEMPERATURES.map((t, i) => ({ t90C: t, signal: at(t).signal + OFF[i]! }))
  const found = fitted(own)

  it('R squared and standard deviations are those of the residuals', () => {
    const squares = (values: readonly number[]) => values.reduce((sum, x) => sum + x * x, 0)
    const mean = own.reduce((sum, { signal }) => sum + signal, 0) / 6
    const total = squares(own.map(({ signal }) => signal - mean))
    expect(1 - found.rSquared).toBeCloseTo(squares(found.residualsSignal) / total, 12)
    expect(1 - found.rSquared).toBeGreaterThan(1e-9)
    expect(found.residualSdSignal).toBeCloseTo(Math.sqrt(squares(found.residualsSignal) / 3), 12)
    expect(found.residualSdK).toBeCloseTo(Math.sqrt(squares(found.residualsK) / 3), 12)
    expect(found.equation.residualSd).toBeCloseTo(found.residualSdSignal, 12)
    // A thermometer that shows too many ohms shows too high a temperature, by 1/(R0 A) at 0 °C.
    expect(found.residualsK[0]! / found.residualsSignal[0]!).toBeCloseTo(1 / (R0 * RELATION.a), 3)
    // Nothing to explain: no R squared. No point to spare: no standard deviation, though rounding leaves residuals.
    expect(fitted([0, 50, 100].map((t) => ({ t90C: t, signal: 100 }))).rSquared).toBeNaN()
    expect(fitted([13, 47, 60, 91].map((t) => ({ t90C: t, signal: 100.1 }))).rSquared).toBeNaN()
    expect(fitted(points(13, 47, 91)).residualSdK).toBeNaN()
  })

  it('a residual left out is that of the fit without the point', () => {
    const answer = answerFitLine(
      JSON.stringify({
        x: TEMPERATURES,
        y: own.map(({ signal }) => signal),
        model: { kind: 'callendar-van-dusen' },
      }),
      1,
    ) as unknown as { leaveOneOutResiduals: number[] }
    own.forEach(({ t90C, signal }, i) => {
      const without = fitted(own.filter((__, k) => k !== i))
      const { r0, a, b } = without.coefficients as { r0: number; a: number; b: number }
      const expected = signal - r0 * (1 + a * t90C + b * t90C ** 2)
      expect(answer.leaveOneOutResiduals[i]).toBeCloseTo(expected, 9)
      expect(found.leaveOneOutK[i]! / found.residualsK[i]!).toBeCloseTo(
        expected / found.residualsSignal[i]!,
        6,
      )
    })
  })
})
