/**
 * The International Temperature Scale of 1990, H. Preston-Thomas, Metrologia 27, 3-10 and 107 (1990), Table 5: the
 * eleven platinum subranges. The limits of acceptance are from memory of section 3.3; that they lie on the passing side
 * of Table 1 is checked with them.
 */
import { describe, expect, it } from 'vitest'
import { FIXED_POINTS, fixedPoint } from '../../app/thermometry/fixed-points.ts'
import { ACCEPTANCE } from '../../app/thermometry/its90-calibration.ts'
import { SUBRANGES, subrange } from '../../app/thermometry/its90-subranges.ts'
import figures from './figures/its90-subranges.json' with { type: 'json' }

const WATER = 'H2O TP'
const plainName = (printed: string) =>
  printed
    .replace(/ (TP|FP|MP)$/, '')
    .replace(/ vapour point near ([\d.]+) K/, (_, kelvin) => ` near ${Number(kelvin)} K`)

describe('SUBRANGES', () => {
  it('are the eleven of Table 5', () => {
    expect(SUBRANGES.map(({ section }) => section)).toEqual(figures.rows.map(({ section }) => section))
  })

  it.each(figures.rows)('has the limits, coefficients and fixed points of $section', (row) => {
    const range = subrange(row.section)
    expect(range.lowC).toBe(row.t_low_C)
    expect(range.highC).toBe(row.t_high_C)
    expect(range.lowC + 273.15).toBeCloseTo(row.T_low_K, 10)
    expect(range.highC + 273.15).toBeCloseTo(row.T_high_K, 10)
    expect(range.coefficients).toEqual(row.free_coefficients)
    expect(range.n).toBe(row.n ?? 0)
    const points = row.fixed_points.filter((printed) => printed !== WATER).map(plainName)
    expect([...range.fixedPoints].sort()).toEqual(points.sort())
    expect(range.fixedPoints).toHaveLength(range.coefficients.length)
  })

  it('end at fixed points, at 273.15 K or at 273.16 K', () => {
    const ends = [0, ...FIXED_POINTS.map(({ kelvin }) => Number((kelvin - 273.15).toFixed(4)))]
    for (const { lowC, highC } of SUBRANGES) {
      expect(ends).toContain(lowC)
      expect(ends).toContain(highC)
    }
  })
})

describe('ACCEPTANCE', () => {
  it('has the limits of the scale, and pure platinum passes them', () => {
    expect(ACCEPTANCE.gallium).toBe(figures.acceptance.W_Ga_min)
    expect(ACCEPTANCE.mercury).toBe(figures.acceptance.W_Hg_max)
    expect(ACCEPTANCE.silver).toBe(figures.acceptance.W_Ag_min)
    expect(fixedPoint('Ga').wr).toBeGreaterThan(ACCEPTANCE.gallium)
    expect(fixedPoint('Hg').wr).toBeLessThan(ACCEPTANCE.mercury)
    expect(fixedPoint('Ag').wr).toBeGreaterThan(ACCEPTANCE.silver)
  })
})
