import { describe, expect, it } from 'vitest'
import {
  allNetworks,
  bridgeErrors,
  checkByInterchange,
  checkByKnownRatios,
  linearityOfInterchange,
  networkValue,
  networkWords,
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

describe('networkValue', () => {
  const values = { a: 0.25, b: 0.5, c: 1 }
  it('adds in series and adds reciprocals in parallel', () => {
    const [a, b, c] = allNetworks(['a', 'b', 'c']).filter((n) => n.kind === 'one')
    expect(networkValue({ kind: 'series', parts: [a!, b!, c!] }, values).value).toBe(1.75)
    const parallel = networkValue({ kind: 'parallel', parts: [a!, b!] }, values)
    expect(parallel.value).toBeCloseTo(1 / 6, 15)
    // d(r_a || r_b)/d r_a = (r_b/(r_a + r_b))^2
    expect(parallel.gradient.a).toBeCloseTo((0.5 / 0.75) ** 2, 12)
    expect(networkWords({ kind: 'parallel', parts: [a!, { kind: 'series', parts: [b!, c!] }] })).toBe(
      'a || (b + c)',
    )
  })

  it('makes eleven networks of four resistors in series and as many in parallel, and each alone', () => {
    expect(allNetworks(['a', 'b', 'c', 'd'])).toHaveLength(4 + 2 * 11)
  })
})

describe('bridgeErrors', () => {
  const true_ = { a: 0.2513, b: 0.4997, c: 0.8021, d: 1.1034 }
  const readings = (error: (n: number) => number, noise: number) => {
    const random = seededRandom(3)
    return allNetworks(Object.keys(true_)).map((network) => {
      const n = networkValue(network, true_).value
      return { network, ratio: n + error(n) + noise * random.normal(), u: 2e-8 }
    })
  }

  it('finds the resistors and the bend of a bridge from what it shows', () => {
    const result = bridgeErrors(readings((n) => 3e-7 - 2e-7 * n * n, 0))
    expect(result.terms.map((t) => t.value)[0]).toBeCloseTo(3e-7, 11)
    expect(result.terms.map((t) => t.value)[1]).toBeCloseTo(-2e-7, 11)
    expect(result.terms.every((t) => t.shown)).toBe(true)
    expect(result.resistors.find((r) => r.name === 'c')!.ratio).toBeCloseTo(0.8021, 10)
    expect(Math.max(...result.rows.map((r) => Math.abs(r.residual)))).toBeLessThan(1e-12)
  })

  it('shows nothing for a bridge without error, and its repeatability as it is', () => {
    const result = bridgeErrors(readings(() => 0, 2e-8))
    expect(result.terms.some((t) => t.shown)).toBe(false)
    expect(result.linearityRatio).toBeLessThan(3e-8)
    expect(result.reducedChiSquared).toBeGreaterThan(0.3)
    expect(result.reducedChiSquared).toBeLessThan(2.2)
  })

  it('refuses fewer networks than it needs, and a resistor never measured alone', () => {
    expect(() => bridgeErrors(readings(() => 0, 0).slice(0, 5))).toThrow(/take at least 6/)
    const withoutA = readings(() => 0, 0).filter(
      ({ network }) => !(network.kind === 'one' && network.resistor === 'a'),
    )
    expect(() => bridgeErrors(withoutA)).toThrow(/Measure resistor a alone/)
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
    const { pairs, linearityRatio } = checkByKnownRatios(
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
    // root mean square of 1, 4 and 8 parts in 10^7
    expect(linearityRatio).toBeCloseTo(1e-7 * Math.sqrt((1 + 16 + 64) / 3), 12)
  })
})
