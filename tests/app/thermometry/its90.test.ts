import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Its90Conversion, Its90Section } from '../../../app/records/conversion.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { ThermometryError } from '../../../app/thermometry/errors.ts'
import { fixedPoint } from '../../../app/thermometry/fixed-points.ts'
import { its90Branches, subrangesOf } from '../../../app/thermometry/its90.ts'
import {
  checkCertificate,
  its90Coefficients,
  subrangeReferenceRatio,
} from '../../../app/thermometry/its90-calibration.ts'
import {
  type Coefficients,
  deviationFunction,
  ratioFromReference,
} from '../../../app/thermometry/its90-deviation.ts'
import {
  referenceTemperature,
  referenceTemperatureHigh,
  referenceTemperatureLow,
} from '../../../app/thermometry/its90-reference.ts'
import {
  type CoefficientName,
  SUBRANGES,
  subrange,
  subrangesFor,
} from '../../../app/thermometry/its90-subranges.ts'

/** Invented coefficients of the size real thermometers have, for each section. */
const COEFFICIENTS: Record<Its90Section, Coefficients> = {
  '3.3.1': { a: -2.5e-4, b: -1.1e-4, c1: 1.8e-6, c2: -2.4e-7, c3: -6e-7, c4: -2.2e-7, c5: -2e-8 },
  '3.3.1.1': { a: -1.9e-4, b: -2.7e-5, c1: 7e-6, c2: 3.3e-6, c3: 4.4e-7 },
  '3.3.1.2': { a: -1.7e-4, b: -4.3e-5, c1: 2.6e-6 },
  '3.3.1.3': { a: -1.8e-4, b: 1.5e-5 },
  '3.3.2': { a: -1.7e-4, b: -1.3e-5, c: 2.2e-6, d: -1.05e-5 },
  '3.3.2.1': { a: -1.4e-4, b: -6.8e-6, c: 9.4e-7 },
  '3.3.2.2': { a: -2.1e-4, b: -1.2e-5 },
  '3.3.2.3': { a: -9.6e-5, b: -1.1e-5 },
  '3.3.2.4': { a: -1.3e-4 },
  '3.3.2.5': { a: -1.1e-4 },
  '3.3.3': { a: -1.2e-4, b: -1.9e-5 },
}
const sections = SUBRANGES.map(({ section }) => section)
const conversion = (section: Its90Section): Its90Conversion => ({
  kind: 'its90',
  subrange: section,
  coefficients: COEFFICIENTS[section],
})
/** Temperatures at which a subrange's coefficients are found; the two hydrogen points at 17.0 K and 20.3 K. */
const calibrationTemperatures = (section: Its90Section) =>
  subrange(section).fixedPoints.map((name) => {
    if (name === 'e-H2 near 17 K') return 17.035 - 273.15
    return name === 'e-H2 near 20.3 K' ? 20.27 - 273.15 : fixedPoint(name).kelvin - 273.15
  })

describe('subrangesFor', () => {
  it.each([
    [['a'], ['3.3.2.4']],
    [
      ['a', 'b'],
      ['3.3.2.2', '3.3.1.3'],
    ],
    [['a', 'b', 'c'], ['3.3.2.1']],
    [['a', 'b', 'c', 'd'], ['3.3.2']],
    [['a', 'b', 'c1'], ['3.3.1.2']],
    [['a', 'b', 'c1', 'c2', 'c3'], ['3.3.1.1']],
    [['a', 'b', 'c1', 'c2', 'c3', 'c4', 'c5'], ['3.3.1']],
  ] as const)('takes %j for %j', (names, expected) => {
    expect(subrangesFor(names).map(({ section }) => section)).toEqual(expected)
  })

  it.each([
    [[]],
    [['b']],
    [['a', 'c']],
    [['a', 'b', 'c', 'c1']],
    [['a', 'b', 'c1', 'c2']],
  ] as CoefficientName[][][])('refuses %j, which no subrange has', (names) => {
    expect(() => subrangesFor(names!)).toThrow(ThermometryError)
  })
})

describe('subrangesOf', () => {
  it('refuses a coefficient left out of a named subrange, and one it does not have', () => {
    expect(() => subrangesOf({ subrange: '3.3.2.1', coefficients: { a: 1e-4 } })).toThrow(/b, c not given/)
    expect(() => subrangesOf({ subrange: '3.3.2.4', coefficients: { a: 1e-4, b: 1e-5 } })).toThrow(/has no b/)
  })

  it('takes a zero for a coefficient that the subrange holds at zero', () => {
    expect(
      subrangesOf({ subrange: '3.3.2.2', coefficients: { a: 1e-4, b: 1e-5, c: 0, d: '0.0' } }),
    ).toHaveLength(1)
  })
})

describe('its90Branches', () => {
  it('takes a and b alone for both sides of 0 degC', () => {
    const pair = its90Branches({ kind: 'its90', coefficients: { a: -1e-4, b: -1e-5 } })
    expect(pair.map(({ range }) => range.section)).toEqual(['3.3.1.3', '3.3.2.2'])
  })

  it('lets a set that can only lie below settle an a, b pair to lie above', () => {
    const pair = its90Branches({
      kind: 'its90',
      coefficients: { a: -1e-4, b: -1e-5 },
      joined: { coefficients: { a: -1e-4, b: -1e-5, c1: 1e-6 } },
    })
    expect(pair.map(({ range, prefix }) => [range.section, prefix])).toEqual([
      ['3.3.1.2', 'joined.'],
      ['3.3.2.2', ''],
    ])
  })

  it.each([
    ['two pairs without sections', { coefficients: { a: 1e-4, b: 0 } }, { coefficients: { a: 1e-4, b: 0 } }],
    [
      'two sets above',
      { subrange: '3.3.2.4', coefficients: { a: 0 } },
      { subrange: '3.3.2.5', coefficients: { a: 0 } },
    ],
    [
      'a set on both sides',
      { subrange: '3.3.3', coefficients: { a: 0, b: 0 } },
      { subrange: '3.3.2.4', coefficients: { a: 0 } },
    ],
  ] as const)('refuses %s', (_, first, joined) => {
    expect(() => its90Branches({ kind: 'its90', ...first, joined })).toThrow(/either side/)
  })
})

describe('deviationFunction', () => {
  it.each(sections)('has the slope of its own values and the sum of its terms in %s', (section) => {
    const range = subrange(section)
    const coefficients = COEFFICIENTS[section]
    const deviation = deviationFunction(range, coefficients)
    const low = subrangeReferenceRatio(range, range.lowC)
    const high = subrangeReferenceRatio(range, range.highC)
    fc.assert(
      fc.property(fc.double({ min: low, max: high, noNaN: true }), (w) => {
        // The difference itself errs by (h/w)^2 of the largest term of the slope, some 6 at 14 K.
        const h = 2e-5 * w
        const slope = (deviation.value(w + h) - deviation.value(w - h)) / (2 * h)
        expect(Math.abs(slope - deviation.slope(w))).toBeLessThan(1e-5 * Math.abs(slope) + 3e-8)
        const sum = deviation
          .terms(w)
          .reduce((total, term, i) => total + term * coefficients[range.coefficients[i]!]!, 0)
        expect(Math.abs(sum - deviation.value(w))).toBeLessThan(1e-16 + 1e-13 * Math.abs(sum))
      }),
      { numRuns: 200 },
    )
  })

  it.each(sections)('vanishes at W = 1 in %s', (section) => {
    expect(Math.abs(deviationFunction(subrange(section), COEFFICIENTS[section]).value(1))).toBe(0)
  })

  it('lets d act above W(660.323 degC) only', () => {
    const range = subrange('3.3.2')
    const without = deviationFunction(range, { ...COEFFICIENTS['3.3.2'], d: 0 })
    const within = deviationFunction(range, COEFFICIENTS['3.3.2'], 3.3755)
    expect(within.value(3.3755)).toBe(without.value(3.3755))
    expect(within.value(4.28) - without.value(4.28)).toBeCloseTo(-1.05e-5 * (4.28 - 3.3755) ** 2, 15)
  })

  it('refuses a coefficient that is no finite number', () => {
    expect(() => deviationFunction(subrange('3.3.2.4'), { a: Number.NaN })).toThrow(ThermometryError)
  })
})

describe('ratioFromReference', () => {
  it('gives NaN, and comes back, where coefficients are absurd', () => {
    for (const a of [1, 2, 1e300, -1e300, 1e10]) {
      const found = ratioFromReference(deviationFunction(subrange('3.3.1.3'), { a, b: a }), 0.5)
      expect(Number.isNaN(found) || found > 0).toBe(true)
    }
  })
})

describe('reference inverses', () => {
  it('give NaN, and come back, where there is no temperature', () => {
    for (const inverse of [referenceTemperature, referenceTemperatureHigh, referenceTemperatureLow]) {
      for (const wr of [Number.NaN, Number.POSITIVE_INFINITY, -1, 0, 1e-9, 50, 1e300]) {
        expect(typeof inverse(wr)).toBe('number')
      }
    }
    expect(referenceTemperatureLow(-1)).toBeNaN()
    expect(referenceTemperatureHigh(Number.NaN)).toBeNaN()
  })
})

describe('its90Coefficients', () => {
  it.each(sections)('gives back the coefficients of %s from ratios at its fixed points', (section) => {
    const prepared = prepare(conversion(section))
    const points = calibrationTemperatures(section).map((t90) => ({ t90, w: prepared.toSignal(t90).value }))
    const { coefficients, degreesOfFreedom, residualSd, residuals } = its90Coefficients(section, points)
    expect(degreesOfFreedom).toBe(0)
    expect(residualSd).toBeNaN()
    for (const residual of residuals) expect(Math.abs(residual)).toBeLessThan(1e-15)
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
    const exact = its90Coefficients('3.3.2.4', [{ t90: 156.5985, w: prepared.toSignal(156.5985).value, u }])
    // One point: a = (W - Wr)/(W - 1), so u(a) = u/(W - 1) with W taken as exact in the term.
    expect(exact.standardUncertainties[0]).toBeCloseTo(u / (prepared.toSignal(156.5985).value - 1), 12)
    expect(exact.covariance.matrix[0]![0]).toBeCloseTo(exact.standardUncertainties[0]! ** 2, 18)
    const silent = its90Coefficients('3.3.2.4', [{ t90: 156.5985, w: 1.6097 }])
    expect(silent.covariance.matrix).toEqual([[0]])
  })

  it('is as good as its points in the middle of the range', () => {
    const prepared = prepare(conversion('3.3.2.2'))
    const points = [231.928, 419.527].map((t90) => ({ t90, w: prepared.toSignal(t90).value, u: 1e-6 }))
    const { coefficients, covariance } = its90Coefficients('3.3.2.2', points)
    const certified = prepare({
      kind: 'its90',
      subrange: '3.3.2.2',
      coefficients,
      covariance: { names: [...covariance.names], matrix: covariance.matrix.map((row) => [...row]) },
    })
    const u = (t90: number) => certified.uncertainty(prepared.toSignal(t90).value, {}).standardUncertainty
    // W is taken as exact in the terms, which leaves out a part of the size of the slope of the deviation, 2e-4.
    const expected = 1e-6 * certified.toTemperature(points[0]!.w).dValueDInput
    expect(Math.abs(u(231.928) / expected - 1)).toBeLessThan(1e-3)
    expect(u(0.01)).toBeLessThan(1e-9)
  })

  it.each([
    ['too few points', [{ t90: 231.928, w: 1.8926 }], 'not-enough-points'],
    [
      'a ratio of zero',
      [
        { t90: 231.928, w: 0 },
        { t90: 419.527, w: 2.5 },
      ],
      'not-finite',
    ],
    [
      'an uncertainty of zero',
      [
        { t90: 231.928, w: 1.89, u: 0 },
        { t90: 419.527, w: 2.5, u: 0 },
      ],
      'not-finite',
    ],
  ])('refuses %s', (_, points, code) => {
    expect(() => its90Coefficients('3.3.2.2', points)).toThrow(expect.objectContaining({ code }))
  })

  it('refuses points that do not determine the coefficients', () => {
    const twice = [
      { t90: 231.928, w: 1.8926 },
      { t90: 231.928, w: 1.8926 },
    ]
    expect(() => its90Coefficients('3.3.2.2', twice)).toThrow(
      expect.objectContaining({ code: 'rank-deficient' }),
    )
  })

  it('refuses a d term without W at the aluminium point', () => {
    const points = [100, 231.928, 419.527, 961.78].map((t90, i) => ({ t90, w: 1.4 + i }))
    expect(() => its90Coefficients('3.3.2', points)).toThrow(
      expect.objectContaining({ code: 'missing-value' }),
    )
  })
})

describe('checkCertificate', () => {
  it.each(sections)('finds nothing wrong with coefficients of a real size in %s', (section) => {
    expect(checkCertificate(section, COEFFICIENTS[section], 25.5)).toEqual([])
  })

  it.each([
    ['an exponent', '3.3.2.1', { a: -1.4e-2, b: -6.8e-6, c: 9.4e-7 }, /3e-3/],
    ['a coefficient left out', '3.3.2.2', { a: -1.4e-4 }, /needs b/],
    ['an industrial element', '3.3.2.4', { a: -1.6e-3 }, /asks for at least 1\.11807/],
    ['an industrial element in the cold', '3.3.1.3', { a: -8e-3, b: 0 }, /3e-3|at most 0\.844235/],
    ['a figure that is no number', '3.3.2.4', { a: Number.NaN }, /3e-3/],
  ] as const)('finds %s', (_, section, coefficients, words) => {
    const findings = checkCertificate(section, coefficients)
    expect(findings.map((finding) => finding.words).join(' ')).toMatch(words)
    expect(findings.some(({ severity }) => severity === 'error')).toBe(true)
  })

  it('finds a resistance at the triple point of water that is none', () => {
    expect(checkCertificate('3.3.2.4', { a: -1e-4 }, -25)[0]!.words).toMatch(/-25 ohm/)
  })

  it('warns where silver is out of reach', () => {
    const findings = checkCertificate('3.3.2', { a: -3.5e-4, b: -8e-5, c: 0, d: -2e-4 })
    expect(
      findings
        .filter(({ severity }) => severity === 'warning')
        .map(({ words }) => words)
        .join(),
    ).toMatch(/961\.78/)
  })
})
