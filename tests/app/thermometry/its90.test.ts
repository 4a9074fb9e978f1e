import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ThermometryError } from '../../../app/thermometry/errors.ts'
import { its90Branches, subrangesOf } from '../../../app/thermometry/its90.ts'
import { checkCertificate, subrangeReferenceRatio } from '../../../app/thermometry/its90-calibration.ts'
import { deviationFunction, ratioFromReference } from '../../../app/thermometry/its90-deviation.ts'
import {
  referenceRatioHigh,
  referenceRatioLow,
  referenceTemperature,
  referenceTemperatureHigh,
  referenceTemperatureLow,
} from '../../../app/thermometry/its90-reference.ts'
import { type CoefficientName, subrange, subrangesFor } from '../../../app/thermometry/its90-subranges.ts'
import { COEFFICIENTS, sections } from './its90-fixture.ts'

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
  it('give the temperature back to the rounding of a double, everywhere in their range', () => {
    for (let t90 = -259.34; t90 <= 0.01; t90 += 0.37)
      expect(Math.abs(referenceTemperatureLow(referenceRatioLow(t90)) - t90)).toBeLessThan(5e-12)
    for (let t90 = 0; t90 <= 961.78; t90 += 0.37)
      expect(Math.abs(referenceTemperatureHigh(referenceRatioHigh(t90)) - t90)).toBeLessThan(5e-12)
  })

  it('go on beyond their range as far as the functions rise, to the last digit', () => {
    for (const t90 of [-265, -263, 50, 100, 120])
      expect(referenceTemperatureLow(referenceRatioLow(t90))).toBeCloseTo(t90, 9)
    for (const t90 of [-150, -60, 1000, 1200])
      expect(referenceTemperatureHigh(referenceRatioHigh(t90))).toBeCloseTo(t90, 9)
  })

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
    const found = (rWtp: number) => checkCertificate('3.3.2.4', { a: -1e-4 }, rWtp).length
    // From the quarter ohm of long-stem thermometers for the silver point to elements of 1000 ohm; common practice, no source.
    expect([0.25, 25.5, 100, 1000, 1999].map(found)).toEqual([0, 0, 0, 0, 0])
    expect([0, 2000, Number.NaN, Number.POSITIVE_INFINITY].map(found)).toEqual([1, 1, 1, 1])
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
