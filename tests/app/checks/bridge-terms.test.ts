import { describe, expect, it } from 'vitest'
import { bridgeTerms } from '../../../app/checks/bridge-terms.ts'
import { allNetworks, networkValue } from '../../../app/checks/network.ts'
import { seededRandom } from '../../../app/statistics/random.ts'

describe('bridgeTerms', () => {
  const true_ = { a: 0.2513, b: 0.4997, c: 0.8021, d: 1.1034 }
  const readings = (error: (n: number) => number, noise: number) => {
    const random = seededRandom(3)
    return allNetworks(Object.keys(true_)).map((network) => {
      const n = networkValue(network, true_).value
      return { network, ratio: n + error(n) + noise * random.normal(), u: 2e-8 }
    })
  }

  it('finds the resistors and the bend of a bridge from what it shows', () => {
    const result = bridgeTerms(readings((n) => 3e-7 - 2e-7 * n * n, 0))
    expect(result.terms.map((t) => t.value)[0]).toBeCloseTo(3e-7, 11)
    expect(result.terms.map((t) => t.value)[1]).toBeCloseTo(-2e-7, 11)
    expect(result.terms.every((t) => t.shown)).toBe(true)
    expect(result.resistors.c).toBeCloseTo(0.8021, 10)
    expect(Math.max(...result.residuals.map(Math.abs))).toBeLessThan(1e-12)
  })

  it('shows nothing for a bridge without error, and its repeatability as it is', () => {
    const result = bridgeTerms(readings(() => 0, 2e-8))
    expect(result.terms.some((t) => t.shown)).toBe(false)
    expect(result.reducedChiSquared).toBeGreaterThan(0.3)
    expect(result.reducedChiSquared).toBeLessThan(2.2)
  })

  it('takes the uncertainty of its terms from the scatter where the readings scatter more than they state', () => {
    const wave = (n: number) => 3e-7 * Math.sin(12 * n)
    const result = bridgeTerms(readings(wave, 0))
    expect(result.reducedChiSquared).toBeGreaterThan(20)
    const stated = bridgeTerms(readings(() => 0, 0)).terms.map((t) => t.u)
    result.terms.forEach((t, k) => {
      expect(t.u / stated[k]!).toBeCloseTo(Math.sqrt(result.reducedChiSquared), 4)
    })
  })

  it('refuses fewer networks than it needs, and a resistor never measured alone', () => {
    expect(() => bridgeTerms(readings(() => 0, 0).slice(0, 5))).toThrow(/take at least 6/)
    const withoutA = readings(() => 0, 0).filter(
      ({ network }) => !(network.kind === 'one' && network.resistor === 'a'),
    )
    expect(() => bridgeTerms(withoutA)).toThrow(/Measure resistor a alone/)
  })
})
