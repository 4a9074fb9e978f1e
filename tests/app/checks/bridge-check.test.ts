import { describe, expect, it } from 'vitest'
import {
  checkByInterchange,
  checkByKnownRatios,
  linearityOfInterchange,
} from '../../../app/checks/bridge-check.ts'
import { seededRandom } from '../../../app/statistics/random.ts'

describe('checkByInterchange', () => {
  it('finds nothing where n and 1/n multiply to 1', () => {
    const [result] = checkByInterchange([
      { name: '100 and 25', ratio: 0.25, u: 2e-8, reciprocal: 4, uReciprocal: 3e-7 },
    ])
    expect(result!.departure).toBe(0)
    expect(result!.agrees).toBe(true)
    expect(result!.expanded).toBeCloseTo(2 * Math.hypot(4 * 2e-8, 0.25 * 3e-7), 15)
  })

  it('shows an error in proportion to the ratio, twice', () => {
    const [result] = checkByInterchange([
      { name: 'a', ratio: 0.25 * (1 + 2e-6), u: 1e-8, reciprocal: 4 * (1 + 2e-6), uReciprocal: 1e-7 },
    ])
    expect(result!.departure).toBeCloseTo(4e-6, 9)
    expect(result!.agrees).toBe(false)
  })
})

describe('linearityOfInterchange', () => {
  it('finds the size of errors drawn in ratio, on average over many pairs', () => {
    const random = seededRandom(11)
    const size = 5e-8
    const pairs = Array.from({ length: 2000 }, (_, i) => {
      const n = 0.2 + (i % 10) * 0.08
      return {
        name: String(i),
        ratio: n + size * random.normal(),
        u: 1e-9,
        reciprocal: 1 / n + size * random.normal(),
        uReciprocal: 1e-9,
      }
    })
    // n n' - 1 moves by e n' + e' n, so a root mean square over 2000 pairs is known to 2 %.
    expect(linearityOfInterchange(pairs) / size).toBeGreaterThan(0.95)
    expect(linearityOfInterchange(pairs) / size).toBeLessThan(1.05)
  })
})

describe('checkByKnownRatios', () => {
  it('shows an error in proportion to the ratio, which networks cannot', () => {
    const gain = 4e-7
    const pairs = checkByKnownRatios(
      [0.25, 1, 2].map((known) => ({
        name: String(known),
        ratio: known * (1 + gain),
        u: 1e-9,
        known,
        uKnown: 5e-8,
      })),
    )
    expect(pairs.map((p) => p.agrees)).toEqual([true, false, false])
    expect(pairs[2]!.error).toBeCloseTo(8e-7, 12)
  })
})
