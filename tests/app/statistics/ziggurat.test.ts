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

  it('takes in all its layers together what lies under the density, and nothing else', () => {
    // Each layer at the middles of a grid of places, and of heights where the height decides; without the far tail.
    const GRID = 128
    const BIN = 0.1
    const refused = new Error('not taken')
    const one = new Float64Array(1)
    const found = new Float64Array(36)
    for (let layer = 0; layer < 256; layer++)
      for (let p = 0; p < GRID; p++) {
        const taken = Array.from({ length: GRID }, () => Number.NaN)
        let decides = false
        for (let h = 0; h < (decides || h === 0 ? GRID : 1); h++) {
          const bits = [layer, ((p + 0.5) / GRID) * 2 ** 32 - 0.5]
          const random = {
            bits: () => {
              const given = bits.shift()
              if (given === undefined) throw refused
              return given
            },
            uniform: () => {
              if (layer === 0) throw refused
              decides = true
              return (h + 0.5) / GRID
            },
            normal: () => Number.NaN,
          }
          try {
            fillNormal(random, one)
            taken[h] = one[0]!
          } catch (error) {
            if (error !== refused) throw error
          }
        }
        for (const z of taken.slice(0, decides ? GRID : 1))
          if (Math.abs(z) < BIN * found.length)
            found[Math.floor(Math.abs(z) / BIN)]! += decides ? 1 / GRID : 1
      }
    const all = found.reduce((sum, count) => sum + count, 0)
    const within = (z: number) => 1 - 2 * normalCdf(-z)
    for (const [bin, count] of found.entries()) {
      const expected = (within((bin + 1) * BIN) - within(bin * BIN)) / within(BIN * found.length)
      // The grid's own coarseness; a topmost layer that is taken whole is beyond it.
      expect(Math.abs(count / all - expected)).toBeLessThan(5e-4)
    }
  })

  it('draws the same from the same seed', () => {
    const again = new Float64Array(1000)
    fillNormal(seededRandom(7), again)
    expect(again).toEqual(column.subarray(0, 1000))
  })
})
