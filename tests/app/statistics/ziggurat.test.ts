import { describe, expect, it } from 'vitest'
import { normalCdf } from '../../../app/statistics/normal.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { fillNormal } from '../../../app/statistics/ziggurat.ts'

const N = 1_000_000
const column = new Float64Array(N)
fillNormal(seededRandom(7), column)

describe('fillNormal', () => {
  it('draws numbers of mean 0 and SD 1, as flat and as symmetric as normal ones', () => {
    const moment = (k: number) => column.reduce((sum, z) => sum + z ** k, 0) / N
    // Standard deviations of the first four moments of a million: 1, sqrt 2, sqrt 15 and sqrt 96 thousandths.
    expect(Math.abs(moment(1))).toBeLessThan(5e-3)
    expect(Math.abs(moment(2) - 1)).toBeLessThan(5 * Math.SQRT2 * 1e-3)
    expect(Math.abs(moment(3))).toBeLessThan(5 * Math.sqrt(15) * 1e-3)
    expect(Math.abs(moment(4) - 3)).toBeLessThan(5 * Math.sqrt(96) * 1e-3)
  })

  it('follows the normal distribution function everywhere', () => {
    const sorted = column.toSorted()
    let farthest = 0
    for (let k = 0; k < N; k++) farthest = Math.max(farthest, Math.abs(normalCdf(sorted[k]!) - (k + 0.5) / N))
    // Kolmogorov's statistic exceeds 2.3/sqrt n once in 20,000 draws.
    expect(farthest).toBeLessThan(2.3 / Math.sqrt(N))
  })

  it('reaches as far into the tails as a million does, on both sides', () => {
    for (const z of [3, 3.6541528853610088, 4]) {
      const expected = N * normalCdf(-z)
      for (const side of [-1, 1]) {
        const found = column.filter((value) => side * value > z).length
        expect(Math.abs(found - expected)).toBeLessThan(5 * Math.sqrt(expected))
      }
    }
  })

  it('draws numbers that do not hang together with their neighbours', () => {
    let product = 0
    let squares = 0
    for (let k = 1; k < N; k++) {
      product += column[k]! * column[k - 1]!
      squares += (column[k]! ** 2 - 1) * (column[k - 1]! ** 2 - 1)
    }
    expect(Math.abs(product / N)).toBeLessThan(5e-3)
    expect(Math.abs(squares / N)).toBeLessThan(1e-2)
  })

  it('draws the same from the same seed', () => {
    const again = new Float64Array(1000)
    fillNormal(seededRandom(7), again)
    expect(again).toEqual(column.subarray(0, 1000))
  })
})
