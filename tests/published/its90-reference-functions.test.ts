/**
 * The International Temperature Scale of 1990, H. Preston-Thomas, Metrologia 27, 3-10 and 107 (1990), equations (9a),
 * (9b), (10a), (10b) and Table 4. Values named computed come from those constants with 60 digits.
 */
import { describe, expect, it } from 'vitest'
import { decimal } from '../../app/thermometry/decimal.ts'
import { exactReferenceRatioHigh, exactReferenceRatioLow } from '../../app/thermometry/exact-its90.ts'
import {
  approximateTemperatureHigh,
  approximateTemperatureLow,
  REFERENCE_A,
  REFERENCE_C,
  referenceRatioHigh,
  referenceRatioLow,
  referenceSlopeHigh,
  referenceSlopeLow,
  referenceTemperatureHigh,
  referenceTemperatureLow,
} from '../../app/thermometry/its90-reference.ts'
import { polynomial } from '../../app/thermometry/polynomial.ts'
import figures from './figures/its90-reference-functions.json' with { type: 'json' }

const table = (equation: string) => figures.functions.find((f) => f.equation === equation)!
const low = figures.fixed_points.filter(({ T90_K }) => T90_K < 273.16)
const high = figures.fixed_points.filter(({ T90_K }) => T90_K >= 273.16)
const relative = (value: number, figure: number | string) => Math.abs(value / Number(figure) - 1)

describe('REFERENCE_A and REFERENCE_C', () => {
  it('are the printed constants of Table 4', () => {
    expect(REFERENCE_A).toEqual(table('9a').coefficients)
    expect(REFERENCE_C).toEqual(table('10a').coefficients)
  })

  it('are the constants of the written-out functions', () => {
    for (let t = -259; t <= 0; t += 7) {
      const x = (Math.log((t + 273.15) / 273.16) + 1.5) / 1.5
      expect(relative(referenceRatioLow(t), Math.exp(polynomial(REFERENCE_A, x)))).toBeLessThan(1e-14)
    }
    for (let t = 0; t <= 961; t += 7) {
      expect(relative(referenceRatioHigh(t), polynomial(REFERENCE_C, (t - 481) / 481))).toBeLessThan(1e-14)
    }
  })
})

describe('approximateTemperatureLow and approximateTemperatureHigh', () => {
  it('are equations (9b) and (10b) with the printed constants of Table 4', () => {
    for (let wr = 0.0012; wr < 1; wr += 0.01) {
      const x = (wr ** (1 / 6) - 0.65) / 0.35
      const expected = polynomial(table('9b').coefficients, x) * 273.16 - 273.15
      expect(approximateTemperatureLow(wr)).toBeCloseTo(expected, 10)
    }
    for (let wr = 1; wr < 4.28; wr += 0.05) {
      const expected = polynomial(table('10b').coefficients, (wr - 2.64) / 1.64)
      expect(approximateTemperatureHigh(wr)).toBeCloseTo(expected, 10)
    }
  })

  it('stay within the agreement the scale states, 0.1 mK and 0.13 mK', () => {
    // 0.1341 mK is found near 1134 K: the figure of the scale is rounded.
    for (let t = -259.3; t < 0; t += 0.1) {
      expect(Math.abs(approximateTemperatureLow(referenceRatioLow(t)) - t)).toBeLessThan(0.1e-3)
    }
    for (let t = 0; t < 961.7; t += 0.1) {
      expect(Math.abs(approximateTemperatureHigh(referenceRatioHigh(t)) - t)).toBeLessThan(0.135e-3)
    }
  })

  it.each(figures.fixed_points)('differs from the identity as computed at $substance', (row) => {
    const inverse = row.T90_K < 273.16 ? approximateTemperatureLow : approximateTemperatureHigh
    const found = (inverse(Number(row.Wr_computed)) + 273.15 - row.T90_K) * 1000
    expect(found).toBeCloseTo(row.inverse_minus_T_mK, 6)
  })

  it.each([
    ...figures.grid_low.map((row) => ({ ...row, t: row.T90_K - 273.15, inverse: approximateTemperatureLow })),
    ...figures.grid_high.map((row) => ({ ...row, t: row.t90_C, inverse: approximateTemperatureHigh })),
  ])(
    'differs from the identity as computed at $t degC',
    ({ t, inverse, Wr_computed, inverse_minus_T_mK }) => {
      expect((inverse(Number(Wr_computed)) - t) * 1000).toBeCloseTo(inverse_minus_T_mK, 6)
    },
  )
})

describe('referenceRatioLow', () => {
  it.each(low)('gives the computed Wr of $substance, and the printed one when rounded', (row) => {
    const wr = referenceRatioLow(row.T90_K - 273.15)
    // At 13.8033 K half a unit of the last place of T90/degC is 3e-14 K, which is 6e-15 of Wr.
    expect(relative(wr, row.Wr_computed)).toBeLessThan(2e-14)
    expect(Math.abs(wr - row.Wr_table1)).toBeLessThanOrEqual(5e-9)
    expect(relative(referenceSlopeLow(row.T90_K - 273.15), row.dWr_dT_per_K)).toBeLessThan(1e-12)
    expect(referenceTemperatureLow(Number(row.Wr_computed))).toBeCloseTo(row.T90_K - 273.15, 11)
  })

  it.each(figures.grid_low)('gives the computed Wr at $T90_K K', (row) => {
    expect(relative(referenceRatioLow(row.T90_K - 273.15), row.Wr_computed)).toBeLessThan(2e-14)
    expect(referenceTemperatureLow(Number(row.Wr_computed))).toBeCloseTo(row.T90_K - 273.15, 11)
  })
})

describe('referenceRatioHigh', () => {
  it.each(high)('gives the computed Wr of $substance, and the printed one when rounded', (row) => {
    const wr = referenceRatioHigh(row.T90_K - 273.15)
    expect(relative(wr, row.Wr_computed)).toBeLessThan(1e-15)
    expect(Math.abs(wr - row.Wr_table1)).toBeLessThanOrEqual(5e-9)
    expect(relative(referenceSlopeHigh(row.T90_K - 273.15), row.dWr_dT_per_K)).toBeLessThan(1e-12)
    expect(referenceTemperatureHigh(Number(row.Wr_computed))).toBeCloseTo(row.T90_K - 273.15, 11)
  })

  it.each(figures.grid_high)('gives the computed Wr at $t90_C degC', (row) => {
    expect(relative(referenceRatioHigh(row.t90_C), row.Wr_computed)).toBeLessThan(1e-15)
    expect(Math.abs(referenceTemperatureHigh(Number(row.Wr_computed)) - row.t90_C)).toBeLessThan(1e-12)
  })
})

describe('exactReferenceRatioLow and exactReferenceRatioHigh', () => {
  /** The figures have twenty digits. */
  const agrees = (wr: ReturnType<typeof decimal>, figure: string | number) =>
    wr.div(figure).minus(1).abs().lt(1e-19)
  it.each(figures.grid_low)('agree with 60-digit arithmetic at $T90_K K', (row) => {
    const wr = exactReferenceRatioLow(decimal(row.T90_K).minus(273.15))
    expect(agrees(wr, row.Wr_computed)).toBe(true)
  })

  it.each(figures.grid_high)('agree with 60-digit arithmetic at $t90_C degC', (row) => {
    const wr = exactReferenceRatioHigh(decimal(row.t90_C))
    expect(agrees(wr, row.Wr_computed)).toBe(true)
  })

  it('differ by 5.3e-9 at the triple point of water, and neither is 1 there', () => {
    const { Wr_low_computed, Wr_high_computed } = figures.water
    expect(exactReferenceRatioLow(decimal(0.01)).minus(Wr_low_computed).abs().lt(1e-19)).toBe(true)
    expect(exactReferenceRatioHigh(decimal(0.01)).minus(Wr_high_computed).abs().lt(1e-19)).toBe(true)
    expect(Number(Wr_high_computed) - Number(Wr_low_computed)).toBeCloseTo(5.346e-9, 12)
  })
})
