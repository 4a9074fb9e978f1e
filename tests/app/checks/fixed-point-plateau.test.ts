import { describe, expect, it } from 'vitest'
import { type CellReading, findPlateau } from '../../../app/checks/fixed-point-plateau.ts'
import { seededRandom } from '../../../app/statistics/random.ts'

const OHM_PER_K = 0.0943
const PLATEAU_OHM = 41.04

/** Temperature of a cell over time, mK from its plateau, drawn as a record. */
function record(mkAt: (hours: number) => number, hours: number, noiseMk = 0.05): CellReading[] {
  const random = seededRandom(7)
  return Array.from({ length: Math.round(hours * 120) }, (_, i) => {
    const h = i / 120
    return { timeS: h * 3600, ohm: PLATEAU_OHM + ((mkAt(h) + noiseMk * random.normal()) * OHM_PER_K) / 1e3 }
  })
}

const freeze = record((h) => {
  if (h < 1) return 800 * (1 - h) - 120 * h
  if (h < 1.05) return -120 + ((h - 1) / 0.05) * 120
  if (h < 7) return -0.05 * (h - 1.05)
  return -0.3 - 400 * (h - 7)
}, 8)

describe('findPlateau', () => {
  it('finds a freeze after its supercool and takes the value from its early part', () => {
    const plateau = findPlateau(freeze, { ohmPerKelvin: OHM_PER_K })
    expect(plateau.kind).toBe('freeze')
    expect(plateau.supercoolMk).toBeGreaterThan(100)
    expect(plateau.fromS / 3600).toBeCloseTo(1.05, 1)
    expect(plateau.toS / 3600).toBeCloseTo(7, 1)
    expect(plateau.usedToS).toBeLessThan(plateau.fromS + 0.51 * (plateau.toS - plateau.fromS))
    expect(((plateau.ohm - PLATEAU_OHM) / OHM_PER_K) * 1e3).toBeCloseTo(-0.09, 1)
  })

  it('finds a melt by what comes before and after, and takes the value from its late part', () => {
    const melt = record((h) => (h < 1 ? -600 * (1 - h) : h < 6 ? 0.02 * (h - 6) : 500 * (h - 6)), 7)
    const plateau = findPlateau(melt, { ohmPerKelvin: OHM_PER_K })
    expect(plateau.kind).toBe('melt')
    expect(plateau.supercoolMk).toBeNull()
    expect(plateau.usedFromS).toBeGreaterThan(plateau.fromS + 0.49 * (plateau.toS - plateau.fromS))
    expect(Math.abs(((plateau.ohm - PLATEAU_OHM) / OHM_PER_K) * 1e3)).toBeLessThan(0.05)
  })

  it('takes a water cell that only holds as a whole', () => {
    const plateau = findPlateau(
      record(() => 0, 1),
      { ohmPerKelvin: OHM_PER_K },
    )
    expect(plateau.kind).toBe('hold')
    expect(plateau.n).toBe(120)
    expect(plateau.uTypeAMk).toBeCloseTo(0.05 / Math.sqrt(120), 2)
  })

  it('grows its band with the noise of the readings, so that a noisy plateau is found whole', () => {
    const noisy = record((h) => (h < 1 ? -9000 * (1 - h) : h < 4 ? 0 : 5000), 6, 3)
    const plateau = findPlateau(noisy, { ohmPerKelvin: OHM_PER_K, near: { ohm: PLATEAU_OHM, withinK: 2 } })
    expect(plateau.kind).toBe('melt')
    expect(plateau.fromS / 3600).toBeCloseTo(1, 1)
    expect(plateau.toS / 3600).toBeCloseTo(4, 1)
  })

  it('looks where the plateau belongs, though the furnace holds still for longer elsewhere', () => {
    const melt = record((h) => (h < 1 ? -9000 * (1 - h) : h < 3 ? 0 : 5000), 8)
    const looked = (withinK: number) =>
      findPlateau(melt, { ohmPerKelvin: OHM_PER_K, near: { ohm: PLATEAU_OHM, withinK } })
    expect(((looked(1).ohm - PLATEAU_OHM) / OHM_PER_K) * 1e3).toBeCloseTo(0, 1)
    // Both in sight: nothing tells the cell's from the furnace's.
    expect(() => looked(8)).toThrow(/two temperatures 5\.0 K apart/)
    expect(() =>
      findPlateau(melt, { ohmPerKelvin: OHM_PER_K, near: { ohm: 2 * PLATEAU_OHM, withinK: 1 } }),
    ).toThrow(/No reading lies within 1 K/)
  })

  it('forgives a few stray readings', () => {
    const strayed = freeze.map((r, i) => (i === 400 || i === 401 ? { ...r, ohm: r.ohm + 0.01 } : r))
    expect(findPlateau(strayed, { ohmPerKelvin: OHM_PER_K }).toS / 3600).toBeCloseTo(7, 1)
  })

  it('refuses a record without a plateau, and one of too few readings', () => {
    const ramp = record((h) => 300 * h, 3)
    expect(() => findPlateau(ramp, { ohmPerKelvin: OHM_PER_K })).toThrow(/No stretch of 10 min/)
    expect(() => findPlateau(freeze.slice(0, 5), { ohmPerKelvin: OHM_PER_K })).toThrow(/at least 10 readings/)
  })
})
