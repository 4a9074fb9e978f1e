import { describe, expect, it } from 'vitest'
import { decimal, decimalPolynomial, decimalText, refine } from '../../../app/thermometry/decimal.ts'
import { exactToSignal, exactToTemperature } from '../../../app/thermometry/exact.ts'

describe('decimal', () => {
  it('takes a double as its shortest text and a text as it stands', () => {
    expect(decimal(0.1).plus(0.2).toString()).toBe('0.3')
    expect(decimal('1.00000000000000000000000000000000001').minus(1).toString()).toBe(
      '0.00000000000000000000000000000000001',
    )
  })
})

describe('decimalPolynomial', () => {
  it('is exact where doubles are not', () => {
    expect(decimalPolynomial([0.1, 0.2], decimal(1)).toString()).toBe('0.3')
  })
})

describe('decimalText', () => {
  it('has thirty significant digits and no exponent', () => {
    expect(decimalText(decimal(1).div(3))).toBe('0.333333333333333333333333333333')
    expect(decimalText(decimal(200).div(3))).toBe('66.6666666666666666666666666667')
    expect(decimalText(decimal(1e21))).toBe('1000000000000000000000')
  })

  it('does not write out a number that nobody could read', () => {
    expect(decimalText(decimal('1e4000'))).toBe('1e+4000')
  })
})

describe('refine', () => {
  it('finds the square root of two to forty digits from a double', () => {
    const root = refine(Math.SQRT2, 2 * Math.SQRT2, (x) => x.times(x).minus(2))
    expect(root.toString().startsWith('1.4142135623730950488016887242096980785')).toBe(true)
  })

  it('gives NaN where it runs away, has no slope, or no start', () => {
    const miss = (x: ReturnType<typeof decimal>) => x.times(x).minus(2)
    expect(refine(1e5, 1e-3, miss).isNaN()).toBe(true)
    expect(refine(1, 0, miss).isNaN()).toBe(true)
    expect(refine(Number.NaN, 1, miss).isNaN()).toBe(true)
  })
})

describe('exactToSignal and exactToTemperature', () => {
  it('come back without text from a polynomial whose roots lie beyond all measure', () => {
    const absurd = { kind: 'polynomial' as const, coefficients: [5.530291619393701e129, -16, -567510403] }
    expect(exactToSignal(absurd, 0).text).toBeUndefined()
  })

  it('have no text where there is no answer', () => {
    expect(exactToTemperature({ kind: 'iec60751' }, 1e6).text).toBeUndefined()
    expect(exactToSignal({ kind: 'iec60751' }, -1000).text).toBeUndefined()
  })

  it('carry digits that a double would drop', () => {
    const one = exactToTemperature({ kind: 'iec60751' }, '100.0000000000000000001').text!
    // A small step from 0 degC: dt = dR/(R0 A), worked by hand from A = 3.9083e-3.
    expect(one.startsWith('0.000000000000000000255')).toBe(true)
  })
})
