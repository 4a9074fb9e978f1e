import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  add,
  type DoubleDouble,
  divide,
  fromDecimalText,
  multiply,
  squareRoot,
  subtract,
  twoProduct,
  twoSum,
} from '../../../app/statistics/compensated.ts'

/** A double as an exact fraction over a power of two. */
function exactly(x: number): { n: bigint; d: bigint } {
  let d = 1n
  let value = x
  while (!Number.isInteger(value)) {
    value *= 2
    d *= 2n
  }
  return { n: BigInt(value), d }
}
const sumOf = ({ hi, lo }: DoubleDouble) => {
  const a = exactly(hi)
  const b = exactly(lo)
  return { n: a.n * b.d + b.n * a.d, d: a.d * b.d }
}
const same = (x: { n: bigint; d: bigint }, y: { n: bigint; d: bigint }) => x.n * y.d === y.n * x.d
/** Whether two fractions agree to a part in 1e30. */
const close = (x: { n: bigint; d: bigint }, y: { n: bigint; d: bigint }) => {
  const gap = x.n * y.d - y.n * x.d
  const size = y.n * x.d
  const magnitude = (value: bigint) => (value < 0n ? -value : value)
  return magnitude(gap) * 10n ** 30n <= magnitude(size)
}
const moderate = fc.double({ min: 1e-3, max: 1e3, noNaN: true })
const pair = fc.tuple(moderate, moderate).map(([hi, part]) => twoSum(hi, part * 1e-17))

describe('twoSum and twoProduct', () => {
  it('lose nothing', () => {
    fc.assert(
      fc.property(moderate, moderate, (a, b) => {
        const x = exactly(a)
        const y = exactly(b)
        return (
          same(sumOf(twoSum(a, b)), { n: x.n * y.d + y.n * x.d, d: x.d * y.d }) &&
          same(sumOf(twoProduct(a, b)), { n: x.n * y.n, d: x.d * y.d })
        )
      }),
    )
  })
})

describe('add, subtract, multiply, divide, squareRoot', () => {
  it('keep thirty digits', () => {
    fc.assert(
      fc.property(pair, pair, (a, b) => {
        const x = sumOf(a)
        const y = sumOf(b)
        return (
          close(sumOf(add(a, b)), { n: x.n * y.d + y.n * x.d, d: x.d * y.d }) &&
          close(sumOf(multiply(a, b)), { n: x.n * y.n, d: x.d * y.d }) &&
          close(sumOf(divide(a, b)), { n: x.n * y.d, d: x.d * y.n }) &&
          close(sumOf(multiply(squareRoot(a), squareRoot(a))), x) &&
          close(sumOf(subtract(a, { hi: -b.hi, lo: -b.lo })), { n: x.n * y.d + y.n * x.d, d: x.d * y.d })
        )
      }),
    )
  })
  it('take the root of zero', () => {
    expect(squareRoot({ hi: 0, lo: 0 })).toEqual({ hi: 0, lo: 0 })
  })
})

describe('fromDecimalText', () => {
  it('keeps the decimal that was written', () => {
    const { hi, lo } = fromDecimalText(10000000.2)
    expect(hi).toBe(10000000.2)
    const { n, d } = sumOf({ hi, lo })
    // 10000000.2 = 50000001/5
    expect(close({ n, d }, { n: 50000001n, d: 5n })).toBe(true)
    expect(lo).not.toBe(0)
  })
  it('keeps small and large powers of ten', () => {
    for (const [value, n, d] of [
      [1.5e-7, 15n, 10n ** 8n],
      [-4.183e-12, -4183n, 10n ** 15n],
      [1.25e-40, 125n, 10n ** 42n],
    ] as const) {
      expect(close(sumOf(fromDecimalText(value)), { n, d })).toBe(true)
    }
  })
  it('leaves whole numbers and what is not finite alone', () => {
    expect(fromDecimalText(42)).toEqual({ hi: 42, lo: 0 })
    expect(fromDecimalText(1e300)).toEqual({ hi: 1e300, lo: 0 })
    expect(fromDecimalText(Number.POSITIVE_INFINITY).hi).toBe(Number.POSITIVE_INFINITY)
  })
  it('never moves away from the double it was given', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e100, max: 1e100 }), (x) => {
        if (Math.abs(x) < 1e-200) return true
        const { hi, lo } = fromDecimalText(x)
        return hi === x && Math.abs(lo) <= Math.abs(x) * 2 ** -52
      }),
    )
  })
})
