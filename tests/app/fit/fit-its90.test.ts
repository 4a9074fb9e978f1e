import { describe, expect, it } from 'vitest'
import { fitThermometer } from '../../../app/fit/fit.ts'
import type { Its90Conversion } from '../../../app/kinds/conversion.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { impliedAluminiumRatio } from '../../../app/thermometry/its90-deviation.ts'
import { calibrationTemperatures, conversion, sections } from '../thermometry/its90-fixture.ts'

describe('fitThermometer, its90', () => {
  /** The fit sees ratios: a thermometer whose R(WTP) is 1 ohm. */
  const fitOf = (section: string, points: readonly { t90: number; w: number; u?: number }[]) =>
    fitThermometer({
      model: { kind: 'its90', subrange: section, rWtp: 1 },
      points: points.map(({ t90, w, u }) => ({
        t90C: t90,
        signal: w,
        ...(u !== undefined && { uSignal: u }),
      })),
    })

  it.each(sections)('gives back the coefficients of %s from ratios at its fixed points', (section) => {
    const prepared = prepare(conversion(section))
    const points = calibrationTemperatures(section).map((t90) => ({ t90, w: prepared.toSignal(t90).value }))
    const { coefficients, degreesOfFreedom, equation } = fitOf(section, points)
    expect(degreesOfFreedom).toBe(0)
    expect(equation.residualSd).toBeNaN()
    for (const residual of equation.residuals) expect(Math.abs(residual)).toBeLessThan(1e-15)
    // What counts is the thermometer: it must give the same temperatures everywhere, to a tenth of a microkelvin.
    const found = prepare({ kind: 'its90', subrange: section, coefficients })
    for (let i = 0; i <= 20; i++) {
      const t90 = prepared.lowC + ((prepared.highC - prepared.lowC) * i) / 20
      expect(Math.abs(found.toTemperature(prepared.toSignal(t90).value).value - t90)).toBeLessThan(1e-7)
    }
  })

  it('carries the uncertainties of the points into the covariance', () => {
    const prepared = prepare(conversion('3.3.2.4'))
    const u = 1e-6
    const exact = fitOf('3.3.2.4', [{ t90: 156.5985, w: prepared.toSignal(156.5985).value, u }])
    // One point: a = (W - Wr)/(W - 1), so u(a) = u/(W - 1) with W taken as exact in the term.
    expect(exact.standardUncertainties[0]).toBeCloseTo(u / (prepared.toSignal(156.5985).value - 1), 12)
    expect(exact.covariance[0]![0]).toBeCloseTo(exact.standardUncertainties[0]! ** 2, 18)
    const silent = fitOf('3.3.2.4', [{ t90: 156.5985, w: 1.6097 }])
    // One temperature is no range.
    expect(silent.conversion).not.toHaveProperty('range')
    expect(silent.conversion).not.toHaveProperty('covariance')
  })

  it('is as good as its points in the middle of the range', () => {
    const prepared = prepare(conversion('3.3.2.2'))
    const points = [231.928, 419.527].map((t90) => ({ t90, w: prepared.toSignal(t90).value, u: 1e-6 }))
    const certified = prepare({ ...fitOf('3.3.2.2', points).conversion, rWtp: undefined } as Its90Conversion)
    const u = (t90: number) => certified.uncertainty(prepared.toSignal(t90).value, {}).standardUncertainty
    // W is taken as exact in the terms, which leaves out a part of the size of the slope of the deviation, 2e-4.
    const expected = 1e-6 * certified.toTemperature(points[0]!.w).dValueDInput
    expect(Math.abs(u(231.928) / expected - 1)).toBeLessThan(1e-3)
    expect(u(0.01)).toBeLessThan(1e-9)
  })

  it.each([
    ['too few points', [{ t90: 231.928, w: 1.8926 }], 'underdetermined'],
    [
      'a ratio of zero',
      [
        { t90: 231.928, w: 0 },
        { t90: 419.527, w: 2.5 },
      ],
      'out-of-range',
    ],
    [
      'a ratio that is no number',
      [
        { t90: 231.928, w: Number.NaN },
        { t90: 419.527, w: 2.5 },
      ],
      'not-finite',
    ],
    [
      'points that do not determine the coefficients',
      [
        { t90: 231.928, w: 1.8926 },
        { t90: 231.928, w: 1.8926 },
      ],
      'rank-deficient',
    ],
  ])('refuses %s', (_, points, code) => {
    expect(() => fitOf('3.3.2.2', points)).toThrow(expect.objectContaining({ code }))
  })

  it('puts the start of the d term where a, b and c imply it, when no point is at aluminium', () => {
    const prepared = prepare(conversion('3.3.2'))
    const points = [100, 231.928, 419.527, 961.78].map((t90) => ({ t90, w: prepared.toSignal(t90).value }))
    const found = prepare({ ...fitOf('3.3.2', points).conversion, rWtp: undefined } as Its90Conversion)
    for (const t90 of [50, 300, 660, 800]) {
      expect(Math.abs(found.toTemperature(prepared.toSignal(t90).value).value - t90)).toBeLessThan(1e-6)
    }
  })
})

describe('fitThermometer, its90, in ohms', () => {
  const R = 25.5
  const low = prepare({ ...conversion('3.3.1.3'), rWtp: R })
  const high = prepare({ ...conversion('3.3.2.2'), rWtp: R })
  const at = (t90C: number, more: object = {}) => ({
    t90C,
    signal: (t90C < 0.01 ? low : high).toSignal(t90C).value,
    ...more,
  })
  const fitted = (points: ReturnType<typeof at>[], model: object = {}) =>
    fitThermometer({ model: { kind: 'its90', ...model }, points })
  const rWtpOf = ({ conversion }: ReturnType<typeof fitted>) => Number((conversion as Its90Conversion).rWtp)
  const UPPER = [231.928, 419.527]
  const LOWER = [-189.3442, -38.8344]

  it.each([
    ['above it', [0.0295]],
    ['below it', [-0.0095]],
    ['just 0.02 K below it', [0.01 - 0.02]],
    ['on both sides', [0.0295, -0.0095, 0.01]],
  ])('takes R(WTP) from points within 0.02 K of the triple point of water, %s', (_, near) => {
    const found = fitted(
      [...near, ...UPPER].map((t) => ({ t90C: t, signal: t === 0.01 ? R : high.toSignal(t).value })),
    )
    expect(Math.abs(rWtpOf(found) / R - 1)).toBeLessThan(1e-12)
    const [first, rest] = [found.leverages.slice(0, near.length), found.leverages.slice(near.length)]
    // Those points define W and take no part: nothing of the coefficients rests on them.
    for (const leverage of first) expect(leverage).toBe(0)
    expect(found.equation.residuals.slice(0, near.length)).toEqual(near.map(() => 0))
    for (const leverage of rest) expect(leverage).toBeCloseTo(1, 9)
    expect(found.notes.join(' ')).toContain(
      `R(WTP) was taken from ${near.length === 1 ? 'the point' : `${near.length} points`} at 0.01 degC.`,
    )
    expect(found.coefficients.a).toBeCloseTo(-2.1e-4, 9)
  })

  it('takes no R(WTP) from a point farther away, and says nothing of it where it is given', () => {
    for (const t of [0.0305, -0.0105])
      expect(() => fitted([t, ...UPPER].map((at_) => at(at_)))).toThrow(
        expect.objectContaining({ code: 'missing-value' }),
      )
    expect(
      fitted(
        UPPER.map((t) => at(t)),
        { rWtp: R },
      ).notes.join(' '),
    ).not.toMatch(/R\(WTP\)/)
  })

  it('names the subrange that it chose, and points that lie 0.02 K and more outside one that was chosen', () => {
    expect(
      fitted(
        UPPER.map((t) => at(t)),
        { rWtp: R },
      ).notes,
    ).toEqual(['Subrange 3.3.2.2 was chosen: the narrowest that holds the points.'])
    const notesFor = (temperatures: number[]) =>
      fitted(
        temperatures.map((t) => at(t)),
        { rWtp: R, subrange: '3.3.2.2' },
      ).notes
    expect(notesFor([419.527 + 0.02, 100, -0.02])).toEqual([])
    const outside = (n: number) => [`${n} of 3 points lie outside subrange 3.3.2.2, 0 to 419.527 degC.`]
    expect(notesFor([419.549, 100, 200])).toEqual(outside(1))
    expect(notesFor([300, 100, -0.021])).toEqual(outside(1))
    expect(notesFor([419.549, 100, -0.021])).toEqual(outside(2))
  })

  it.each([
    ['3.3.2.2', [-0.02, 419.527 + 0.02]],
    ['3.3.2.1', [-0.02, 419.55, 200]],
    ['3.3.2.3', [100, 231.948]],
    ['3.3.3', [-0.0205, 29.7]],
  ])('chooses %s for %s, whose ends reach 0.02 K further', (section, temperatures) => {
    const found = fitted(
      temperatures.map((t) => at(t)),
      { rWtp: R },
    )
    expect(found.conversion).toMatchObject({ subrange: section })
  })

  it('joins two sides, each with its own points, sum of squares and covariance', () => {
    const uSignal = 1e-6 * R
    // Twice at one temperature, so far above and below: the sum of squares is 2 (shift / u)^2, and the line nearly stays.
    const twice = (t: number, shift: number) =>
      [shift, -shift].map((r) => ({ t90C: t, signal: at(t).signal + r * uSignal, uSignal }))
    const lower = [...LOWER.map((t) => at(t, { uSignal })), ...twice(-100, 2)]
    const upper = [...UPPER.map((t) => at(t, { uSignal })), ...twice(300, 3)]
    const found = fitted([upper[0]!, lower[0]!, ...upper.slice(1), ...lower.slice(1)], { rWtp: R })
    expect(found.notes).toEqual([
      'Subranges 3.3.1.3 and 3.3.2.2 were chosen, joined at the triple point of water.',
    ])
    expect(found.names).toEqual(['a', 'b', 'joined.a', 'joined.b'])
    expect(found.chiSquared).toBeCloseTo(8 + 18, 1)
    expect(found.degreesOfFreedom).toBe(4)
    // The leverages of all points together are as many as the coefficients.
    expect(found.leverages.reduce((sum, h) => sum + h, 0)).toBeCloseTo(4, 9)
    const residuals = found.equation.residuals.map((r) => r * 1e6)
    expect(residuals).toEqual([0, 0, 0, 3, -3, 0, 2, -2].map((r) => expect.closeTo(r, 2)))
    const [below, above] = [fitted(lower, { rWtp: R }), fitted(upper, { rWtp: R })]
    expect(found.condition).toBe(Math.max(below.condition, above.condition))
    expect(below.condition).not.toBe(above.condition)
    expect(found.covarianceFrom).toBe('uncertainties')
    const ofOneSide = fitted([...lower, ...UPPER.map((t) => at(t))], { rWtp: R })
    expect(ofOneSide.covarianceFrom).toBe('residuals')
    for (const [i, j, own] of [
      [0, 1, below],
      [2, 3, above],
    ] as const) {
      expect(found.covariance[i]![j]).toBe(own.covariance[0]![1])
      expect(found.covariance[j]![j]).toBe(own.covariance[1]![1])
    }
    expect([found.covariance[0]![2], found.covariance[1]![3], found.covariance[3]![0]]).toEqual([0, 0, 0])
    expect(found.covariance).toHaveLength(4)
    for (const t of [-100, -20, 50, 300]) {
      const own = t < 0 ? below : above
      expect(found.temperatureUncertainty(t) / own.temperatureUncertainty(t)).toBeCloseTo(1, 9)
    }
    // u(W) = 1e-6 of W, at -100 °C with dW/dT of about 0.004 1/K: some tenths of a millikelvin, by fewer points less.
    expect(found.temperatureUncertainty(-100)).toBeGreaterThan(1e-4)
    expect(found.temperatureUncertainty(-100)).toBeLessThan(3e-4)
  })

  it('takes R(WTP) of joined sides from points on either side of it', () => {
    const near = [-0.0095, 0.0295]
    for (const t of near) {
      const found = fitted([t, ...LOWER, ...UPPER].map((t90C) => at(t90C)))
      expect(Math.abs(rWtpOf(found) / R - 1)).toBeLessThan(1e-12)
    }
  })

  it('lets a point at the triple point of water change no scatter of the side below it', () => {
    const scattered = [...LOWER, -100, -60].map((t, i) => ({ t90C: t, signal: at(t).signal + i * 1e-6 }))
    const points = [...scattered, ...UPPER.map((t) => at(t)), at(300)]
    const [without, with_] = [points, [...points, { t90C: 0.01, signal: R }]].map((own) =>
      fitted(own, { rWtp: R }),
    )
    expect(with_!.covariance[0]![0]).toBe(without!.covariance[0]![0])
  })

  it('carries an uncertainty in ohms into W by R(WTP)', () => {
    const inOhms = fitted(
      UPPER.map((t) => at(t, { uSignal: 1e-6 * R })),
      { rWtp: R },
    )
    const inRatio = fitted(
      UPPER.map((t) => ({ t90C: t, signal: at(t).signal / R, uSignal: 1e-6 })),
      { rWtp: 1 },
    )
    inOhms.standardUncertainties.forEach((u, k) => {
      expect(u / inRatio.standardUncertainties[k]!).toBeCloseTo(1, 9)
    })
    expect(inOhms.temperatureUncertainty(231.928) / inRatio.temperatureUncertainty(231.928)).toBeCloseTo(1, 9)
  })

  it.each([
    ['3.3.1.3', LOWER],
    ['3.3.2.2', UPPER],
    ['3.3.3', [-38.8344, 29.7646]],
  ])('carries an uncertainty of t90 into W by the slope of the thermometer, %s', (subrange, temperatures) => {
    const uT = 1e-3
    const [byT, byR] = [
      (t: number) => at(t, { uT }),
      (t: number) => at(t, { uSignal: uT * (t < 0 ? low : high).toSignal(t).dValueDInput }),
    ].map((point) => fitted(temperatures.map(point), { rWtp: R, subrange }))
    // The slope is that of the reference function: the deviation adds parts in ten thousand.
    byT!.standardUncertainties.forEach((u, k) => {
      expect(Math.abs(u / byR!.standardUncertainties[k]! - 1)).toBeLessThan(3e-4)
    })
  })

  describe('with the d term', () => {
    const silver = prepare({ ...conversion('3.3.2'), rWtp: 1 })
    const off = 1e-5
    const points = (aluminiumC: number) =>
      [aluminiumC, 231.928, 419.527, 500, 600, 800, 961.78].map((t90C) => ({
        t90C,
        signal: silver.toSignal(t90C).value + (t90C === aluminiumC ? off : 0),
      }))
    const wAluminiumOf = (aluminiumC: number, more: object = {}) => {
      const model = { kind: 'its90' as const, subrange: '3.3.2', rWtp: 1, ...more }
      const found = fitThermometer({ model, points: points(aluminiumC) }).conversion as Its90Conversion
      return Number(found.wAluminium)
    }
    const impliedBy = (aluminiumC: number) =>
      impliedAluminiumRatio(
        fitThermometer({
          model: { kind: 'its90', subrange: '3.3.2', rWtp: 1 },
          points: points(aluminiumC),
        }).coefficients,
      )

    it.each([660.323, 660.3425, 660.3035])('starts where the point at aluminium lies, at %f °C', (t) => {
      expect(wAluminiumOf(t)).toBe(points(t)[0]!.signal)
    })

    it.each([660.3435, 660.3025])('takes %f °C for another point: a, b and c say where it starts', (t) => {
      expect(Math.abs(wAluminiumOf(t) - silver.toSignal(660.323).value)).toBeGreaterThan(1e-7)
      expect(Math.abs(wAluminiumOf(t) - silver.toSignal(660.323).value)).toBeLessThan(off)
      expect(Math.abs(wAluminiumOf(t) - impliedBy(t))).toBeLessThan(1e-13)
    })

    it('starts where it is told', () => {
      const told = silver.toSignal(660.323).value + 2e-5
      expect(wAluminiumOf(660.323, { wAluminium: told })).toBe(told)
    })
  })

  it.each([
    ['begins at 0 °C where the lowest point is the triple point of water', [0.01, 231.928], [0, 231.928]],
    ['begins at a point that lies further down', [-0.015, 231.928], [-0.015, 231.928]],
    ['begins at the lowest point elsewhere', [0.03, 231.928, 100], [0.03, 231.928]],
    ['ends at the triple point of water where the highest point is 0 °C', [-189.3442, 0], [-189.3442, 0.01]],
    ['ends at a point that lies further up', [-189.3442, -38.8344, 0.025], [-189.3442, 0.025]],
    ['ends at the highest point elsewhere', [-189.3442, -38.8344, -0.02], [-189.3442, -0.02]],
  ])('%s', (_, temperatures, range) => {
    const isLow = temperatures[0]! < -1
    const points = temperatures.map((t) => ({ t90C: t, signal: (isLow ? low : high).toSignal(t).value }))
    const model = { rWtp: R, subrange: isLow ? '3.3.1.3' : '3.3.2.3' }
    expect(fitted(points, model).conversion).toMatchObject({ range })
  })
})
