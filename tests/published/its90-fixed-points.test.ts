/**
 * The International Temperature Scale of 1990, H. Preston-Thomas, Metrologia 27, 3-10 and 107 (1990), Tables 1 and 2:
 * temperatures, reference ratios, pressure and depth coefficients of the defining fixed points.
 * Not checked: the three helium and hydrogen vapour-pressure points, which have no single temperature.
 */
import { describe, expect, it } from 'vitest'
import { FIXED_POINTS, fixedPoint, fixedPointTemperature } from '../../app/thermometry/fixed-points.ts'
import { referenceRatio } from '../../app/thermometry/its90-reference.ts'
import figures from './figures/its90-fixed-points.json' with { type: 'json' }

describe('FIXED_POINTS', () => {
  it('holds the fourteen points of Tables 1 and 2 and no other', () => {
    expect(FIXED_POINTS.map(({ name }) => name).sort()).toEqual(
      figures.rows.map((row) => row.substance).sort(),
    )
  })

  it.each(figures.rows)('agrees with the printed figures of $substance', (row) => {
    const point = fixedPoint(row.substance)
    expect(point.kelvin).toBe(row.T90_K)
    expect(point.kelvin - 273.15).toBeCloseTo(row.t90_C, 10)
    expect(point.wr ?? null).toBe(row.Wr)
    expect(point.kelvinPerPascal).toBeCloseTo(row['dT_dp_1e-8_K_per_Pa'] * 1e-8, 18)
    expect(point.kelvinPerMetre).toBeCloseTo(row['dT_dl_1e-3_K_per_m'] * 1e-3, 14)
    expect(row.kind.startsWith(point.kind)).toBe(true)
  })

  it.each(figures.rows.filter((row) => row.Wr !== null))(
    'has the Wr of $substance that the reference function rounds to',
    (row) => {
      expect(Math.abs(referenceRatio(row.T90_K - 273.15) - row.Wr!)).toBeLessThanOrEqual(5.0001e-9)
    },
  )
})

describe('fixedPointTemperature', () => {
  it.each(figures.rows)('moves $substance by its depth coefficient', (row) => {
    const moved = fixedPointTemperature(fixedPoint(row.substance).name, 0.2) - (row.T90_K - 273.15)
    expect(moved).toBeCloseTo(0.2 * row['dT_dl_1e-3_K_per_m'] * 1e-3, 12)
  })

  it.each(figures.rows)('moves $substance by pressure only where it is no triple point', (row) => {
    const moved = fixedPointTemperature(fixedPoint(row.substance).name, 0, 102_325) - (row.T90_K - 273.15)
    const expected = row.kind === 'triple point' ? 0 : 1000 * row['dT_dp_1e-8_K_per_Pa'] * 1e-8
    expect(moved).toBeCloseTo(expected, 12)
  })
})
