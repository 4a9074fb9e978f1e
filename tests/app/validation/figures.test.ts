import { describe, expect, it } from 'vitest'
import { Figures } from '../../../app/validation/figures.ts'
import { publication, runCheck } from '../../../app/validation/publication.ts'

const one = (gather: (figures: Figures) => void) => {
  const figures = new Figures()
  gather(figures)
  expect(figures.all).toHaveLength(1)
  return figures.all[0]!
}

describe('Figures', () => {
  it('states expected, got, difference and limit with the unit', () => {
    expect(one((f) => f.near('R', 100.03, '100.01', 0.05, 'Ω'))).toMatchObject({
      what: 'R',
      expected: '100.01',
      got: '100.03',
      difference: '0.02',
      limit: '0.05 Ω',
      unit: 'Ω',
      within: true,
    })
  })

  it('says how much of its limit a figure takes up, and how far it is from it', () => {
    expect(one((f) => f.near('R', 100.5, 100, 2, 'Ω'))).toMatchObject({ share: 0.25, difference: '0.5' })
    expect(one((f) => f.near('R', 99.5, 100, 2, 'Ω'))).toMatchObject({ share: 0.25, difference: '0.5' })
    expect(one((f) => f.relative('R', 102, 100, 0.04)).share).toBeCloseTo(0.5, 9)
    expect(one((f) => f.between('t', 41, 37, 42))).toMatchObject({
      expected: '37 to 42',
      limit: '2.5 of the middle',
      share: 0.6,
    })
    expect(one((f) => f.atMost('error', -0.05, 0.1, 'K'))).toMatchObject({ limit: '0.1 K', share: 0.5 })
    expect(one((f) => f.near('n', 5, 5, 0)).share).toBe(0)
    expect(one((f) => f.near('n', 6, 5, 0)).share).toBe(Number.POSITIVE_INFINITY)
    expect(one((f) => f.digits('mean', 1.00000001, 1, 4)).share).toBeCloseTo(0.5, 6)
    expect(one((f) => f.digits('mean', 7, 1, 4)).share).toBe(Number.POSITIVE_INFINITY)
    expect(one((f) => f.same('n', 1, 1)).share).toBeNull()
  })

  it('takes a print for its half unit, with the slack that is given', () => {
    expect(one((f) => f.printed('l', 0.2955, '0.295', 3)).within).toBe(true)
    expect(one((f) => f.printed('l', 0.29551, '0.295', 3)).within).toBe(false)
    expect(one((f) => f.printed('l', 0.29558, '0.295', 3, 'Ω', 1e-4)).within).toBe(true)
    expect(one((f) => f.printed('l', 0.29562, '0.295', 3, 'Ω', 1e-4)).within).toBe(false)
  })

  it('is not within beyond the limit, by a hair', () => {
    expect(one((f) => f.near('R', 100.061, 100.01, 0.05)).within).toBe(false)
    expect(one((f) => f.relative('R', 100.011, 100, 1e-4)).within).toBe(false)
    expect(one((f) => f.relative('R', 100.009, 100, 1e-4)).within).toBe(true)
    expect(one((f) => f.printed('u', 0.2956, '0.295', 3)).within).toBe(false)
    expect(one((f) => f.printed('u', 0.2954, '0.295', 3)).within).toBe(true)
    expect(one((f) => f.decimals('u', 1.006, 1, 2)).within).toBe(false)
    expect(one((f) => f.atMost('error', -0.2, 0.1)).within).toBe(false)
    expect(one((f) => f.between('t', 42.1, 37, 42)).within).toBe(false)
    expect(one((f) => f.same('coefficients', [1, 2], [1, 2.0000001])).within).toBe(false)
  })

  it('never takes what is not a number for an agreement', () => {
    for (const wrong of [Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(one((f) => f.near('R', wrong, 1, 5)).within).toBe(false)
      expect(one((f) => f.relative('R', wrong, 1, 5)).within).toBe(false)
      expect(one((f) => f.digits('R', wrong, 1, 1)).within).toBe(false)
      expect(one((f) => f.between('R', wrong, 0, 2)).within).toBe(false)
      expect(one((f) => f.atMost('R', wrong, 2)).within).toBe(false)
      expect(one((f) => f.same('R', wrong, null)).within).toBe(false)
    }
  })

  it('says how much of its limit a difference takes', () => {
    expect(one((f) => f.near('R', 100.03, 100.01, 0.08)).share).toBeCloseTo(0.25, 10)
    expect(one((f) => f.relative('R', 101, 100, 0.02)).share).toBeCloseTo(0.5, 10)
    expect(one((f) => f.atMost('error', -0.2, 0.5)).share).toBeCloseTo(0.4, 10)
    expect(one((f) => f.between('t', 41, 38, 42)).share).toBeCloseTo(0.5, 10)
    expect(one((f) => f.digits('mean', 1.0000000001, 1, 5)).share).toBeCloseTo(0.5, 5)
    expect(one((f) => f.same('n', 5, 5)).share).toBeNull()
  })

  it('takes just the limit for within it, and no difference at all where the limit is 0', () => {
    expect(one((f) => f.near('n', 3, 1, 2))).toMatchObject({ within: true, share: 1 })
    expect(one((f) => f.near('n', 3, 3, 0))).toMatchObject({ within: true, share: 0 })
    expect(one((f) => f.near('n', 3.5, 3, 0))).toMatchObject({
      within: false,
      share: Number.POSITIVE_INFINITY,
    })
    expect(one((f) => f.between('t', 42, 38, 42)).within).toBe(true)
    expect(one((f) => f.digits('n', 11, 1, 0.1)).share).toBe(Number.POSITIVE_INFINITY)
  })

  it('gives a printed figure half a unit of its last decimal, and the slack of what it was made from', () => {
    expect(one((f) => f.printed('u', 1.005, '1.00', 2)).within).toBe(true)
    expect(one((f) => f.printed('u', 1.0075, '1.00', 2)).within).toBe(false)
    expect(one((f) => f.printed('u', 1.0075, '1.00', 2, '', 0.003)).within).toBe(true)
    expect(one((f) => f.printed('u', 1.0075, '1.00', 2, 'mK', 0.003)).limit).toBe('0.008 mK')
    expect(one((f) => f.decimals('u', 1.004, 1, 2, 'K')).limit).toBe('0.005 K')
    expect(one((f) => f.between('t', 41, 38, 42)).limit).toBe('2 of the middle')
  })

  it('counts digits as NIST does', () => {
    expect(one((f) => f.digits('mean', 1.00000001, 1, 7.9))).toMatchObject({
      difference: '8.0 digits',
      limit: 'at least 7.9 digits',
      within: true,
    })
    expect(one((f) => f.digits('mean', 1.0000001, 1, 7.9)).within).toBe(false)
    // A certified value has 15 digits: more than those are not counted, be the two equal or a last bit apart.
    const counted = (got: number, certified: number) =>
      one((f) => f.digits('mean', got, certified, 15)).difference
    expect(counted(1 + 2 ** -52, 1)).toBe('15.0 digits')
    expect(counted(5, 5)).toBe('15.0 digits')
    expect(counted(0, 0)).toBe('15.0 digits')
    // Of a certified 0 there is no relative error: the absolute one counts.
    expect(counted(1e-7, 0)).toBe('7.0 digits')
    expect(counted(-1e-7, 0)).toBe('7.0 digits')
    // Equal counts as fifteen digits, and no more than fifteen are ever counted.
    expect(one((f) => f.digits('mean', 5, 5, 15))).toMatchObject({ difference: '15.0 digits', within: true })
    expect(one((f) => f.digits('mean', 1 + 2 ** -52, 1, 15)).difference).toBe('15.0 digits')
    // A certified value of 0 has no relative error: the absolute one stands in.
    expect(one((f) => f.digits('autocorrelation', 1e-9, 0, 8)).difference).toBe('9.0 digits')
  })
})

describe('runCheck', () => {
  const about = { id: 'p', source: 's', standing: 'read', notChecked: [] }
  const resultOf = (run: (figures: Figures) => void) => {
    const own = publication(about, (check) => check('a check', run))
    return runCheck(own, own.checks[0]!)
  }

  it('passes when every figure is within its limit', () => {
    expect(resultOf((f) => f.same('a', 1, 1))).toMatchObject({
      publication: 'p',
      title: 'a check',
      passed: true,
    })
  })

  it('does not pass with one figure beyond, with a fault, or with nothing looked at', () => {
    expect(
      resultOf((f) => {
        f.same('a', 1, 1)
        f.same('b', 1, 2)
      }).passed,
    ).toBe(false)
    expect(
      resultOf((f) => {
        f.same('a', 1, 1)
        throw new Error('no answer')
      }),
    ).toMatchObject({ passed: false, fault: 'no answer' })
    expect(resultOf(() => {}).passed).toBe(false)
  })
})
