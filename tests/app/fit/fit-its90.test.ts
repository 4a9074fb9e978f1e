import { describe, expect, it } from 'vitest'
import { fitThermometer } from '../../../app/fit/fit.ts'
import type { Its90Conversion } from '../../../app/kinds/conversion.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
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
