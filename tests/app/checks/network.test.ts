import { describe, expect, it } from 'vitest'
import { allNetworks, networkValue, networkWords } from '../../../app/checks/network.ts'

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
