import { describe, expect, it } from 'vitest'
import { bridgeCurve } from '../../../app/checks/bridge-curve.ts'
import { allNetworks, networkValue } from '../../../app/checks/network.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { bridgesBy, METHODS } from '../../soak/bridges.ts'

const BOX = { a: 0.25, b: 0.36, c: 1 }
const U = 5e-9
const none = { interchanges: [], networks: [], known: [] }

function box(error: (n: number) => number) {
  const random = seededRandom(8)
  const shown = (n: number) => n + error(n) + U * random.normal()
  return {
    networks: allNetworks(Object.keys(BOX)).map((network) => ({
      network,
      ratio: shown(networkValue(network, BOX).value),
      u: U,
    })),
    known: [0.1, 0.5, 1, 2].map((known) => ({
      name: `${known}`,
      ratio: shown(known),
      u: U,
      known,
      uKnown: 0,
    })),
    interchanges: [0.25, 0.5, 1].map((n) => ({
      name: `${n}`,
      ratio: shown(n),
      u: U,
      reciprocal: shown(1 / n),
      uReciprocal: U,
    })),
  }
}

describe('bridgeCurve', () => {
  it('does not let an error in proportion to n, which combinations cannot see, into the errors they find', () => {
    const { networks } = box((n) => 4e-7 * n)
    const { checked, takenOut, linearityRatio } = bridgeCurve({ ...none, networks })
    expect(takenOut).toEqual(['in-proportion'])
    for (const { error, u } of checked) expect(Math.abs(error)).toBeLessThan(3 * u)
    expect(linearityRatio).toBeLessThan(2 * U)
  })

  it('finds that error with known ratios or pairs beside them, and takes nothing out', () => {
    const { networks, known, interchanges } = box((n) => 4e-7 * n)
    const { checked, takenOut } = bridgeCurve({ interchanges, networks, known })
    expect(takenOut).toEqual([])
    for (const { ratio, error, u } of checked) expect(Math.abs(error - 4e-7 * ratio)).toBeLessThan(4 * u)
  })

  it('sees of an interchange alone what is alike at n and at 1/n', () => {
    // Relative errors of +3e-7 ln n are opposite at reciprocals: no product departs from 1.
    const { interchanges } = box((n) => 3e-7 * n * Math.log(n))
    const { checked, takenOut } = bridgeCurve({ ...none, interchanges })
    expect(takenOut).toEqual(['opposite-at-reciprocals'])
    for (const { error, u } of checked) expect(Math.abs(error)).toBeLessThan(3 * u)
  })

  it('takes the zero into the curve with its U, and knows that it tells nothing in proportion to n', () => {
    const offset = 6e-8
    const zero = { name: 'zero', ratio: offset + U, u: U, known: 0, uKnown: 0 }
    const { networks, known, interchanges } = box((n) => offset + 4e-7 * n)
    const beside = bridgeCurve({ ...none, networks, known: [zero] })
    expect(beside.takenOut).toEqual(['in-proportion'])
    for (const { ratio, error, u } of [...beside.checked, ...beside.curve])
      if (ratio < 0.3) expect(Math.abs(error - offset)).toBeLessThan(4 * u)
    expect(beside.curve[0]).toMatchObject({ ratio: zero.ratio })
    const whole = bridgeCurve({ interchanges, networks, known: [...known, zero] })
    expect(whole.takenOut).toEqual([])
    const at = whole.checked.find(({ name }) => name === 'zero')!
    expect(Math.abs(at.error - offset)).toBeLessThan(4 * at.u)
    expect(at.u).toBeLessThan(1.1 * U)
    // Beside pairs alone it stands by itself, and what is opposite at n and 1/n stays unknown.
    const pairs = bridgeCurve({ ...none, interchanges, known: [zero] })
    expect(pairs.takenOut).toEqual(['opposite-at-reciprocals'])
    expect(pairs.curve.map(({ ratio }) => ratio)).toEqual(
      pairs.curve.map(({ ratio }) => ratio).toSorted((a, b) => a - b),
    )
    expect(Math.abs(pairs.curve[0]!.error - offset)).toBeLessThan(4 * pairs.curve[0]!.u)
    // Alone it is one place, whichever side of zero is shown.
    const alone = bridgeCurve({ ...none, known: [{ ...zero, ratio: -2e-9 }] })
    expect(alone.curve).toMatchObject([{ ratio: -2e-9 }])
  })

  it('widens its uncertainty where the readings scatter more than they state', () => {
    const random = seededRandom(2)
    const { networks } = box(() => 0)
    const rough = networks.map((r) => ({ ...r, ratio: r.ratio + 10 * U * random.normal() }))
    const [calm, torn] = [networks, rough].map((n) => bridgeCurve({ ...none, networks: n }))
    expect(torn!.checked[0]!.u).toBeGreaterThan(3 * calm!.checked[0]!.u)
  })

  it('refuses what says nothing of a bridge', () => {
    expect(() => bridgeCurve(none)).toThrow(/no ratio to find an error from/)
    const { networks } = box(() => 0)
    expect(() => bridgeCurve({ ...none, networks: networks.slice(0, 3) })).toThrow(
      /say nothing of the bridge/,
    )
  })

  // The long form, 300 bridges of each method, is `npm run soak -- --bridges 300`; its table is docs/bridge-coverage.md.
  it.each(METHODS)('holds the truth of simulated bridges within U as often as it says: %s', (method) => {
    const { checked, found } = bridgesBy(method, 15, 1)
    expect(checked).toBeGreaterThan(88)
    expect(found[1]).toBeGreaterThan(0.85)
    expect(found[1]).toBeLessThan(1.25)
  })
})
