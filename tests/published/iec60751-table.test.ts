/**
 * IEC 60751 (2008 and 2022 editions): coefficients, Table A.1 and tolerance classes of industrial platinum resistance
 * thermometers; tolerances in ohm as printed in the edition of 1995. R to four decimals and the inverse are computed
 * from the coefficients; the standard prints two decimals. Ranges of film elements are from memory.
 * Not checked: the classes of bare resistors (W and F), which the station does not judge.
 */
import { describe, expect, it } from 'vitest'
import { prepare } from '../../app/thermometry/convert.ts'
import { exactToTemperature } from '../../app/thermometry/exact.ts'
import { IEC60751_A, IEC60751_B, IEC60751_C, IEC60751_R0 } from '../../app/thermometry/iec60751.ts'
import { classTolerance, TOLERANCE_CLASSES } from '../../app/thermometry/iec60751-classes.ts'
import figures from './figures/iec60751-table.json' with { type: 'json' }

const standard = prepare({ kind: 'iec60751' })

describe('prepare, iec60751', () => {
  it('has the coefficients of the standard', () => {
    const { R0_ohm, A_per_C, B_per_C2, C_per_C4, alpha_per_C_rounded, alpha_per_C_from_A_B } =
      figures.coefficients
    expect([IEC60751_R0, IEC60751_A, IEC60751_B, IEC60751_C]).toEqual([R0_ohm, A_per_C, B_per_C2, C_per_C4])
    const alpha = (standard.toSignal(100).value - R0_ohm) / (100 * R0_ohm)
    expect(alpha).toBeCloseTo(alpha_per_C_from_A_B, 14)
    expect(alpha).toBeCloseTo(alpha_per_C_rounded, 6)
  })

  it.each(figures.table)('gives R and dR/dt of the table at $t90_C degC', (row) => {
    const { value, dValueDInput, marks } = standard.toSignal(row.t90_C)
    expect(Math.abs(value - row.R_ohm)).toBeLessThan(0.5001e-4)
    expect(Math.abs(value - row.R_ohm_2_decimals)).toBeLessThan(0.5001e-2)
    expect(Math.abs(dValueDInput - row.dR_dt_ohm_per_K)).toBeLessThan(0.51e-8)
    expect(marks).toEqual([])
  })

  it.each(figures.table)('gives back $t90_C degC from R of the table', (row) => {
    const { value } = standard.toTemperature(row.R_ohm)
    expect(Math.abs(value - row.t90_C)).toBeLessThan(0.5001e-4 / row.dR_dt_ohm_per_K)
  })

  it.each(figures.inverse)('gives $t90_C degC for $R_ohm ohm', (row) => {
    expect(Math.abs(standard.toTemperature(row.R_ohm).value - row.t90_C)).toBeLessThan(1e-11)
    expect(
      Math.abs(Number(exactToTemperature({ kind: 'iec60751' }, row.R_ohm).text) - row.t90_C),
    ).toBeLessThan(1e-11)
  })
})

describe('classTolerance', () => {
  it.each(figures.classes)('has the formula and ranges of class $class', (row) => {
    const found = TOLERANCE_CLASSES.find(({ name }) => name === row.class)!
    expect([found.a, found.b]).toEqual([row.a_C, row.b])
    expect(found.range['wire-wound']).toEqual(row.range_wire_wound_C)
    expect(found.range.film).toEqual(row.range_film_C)
  })

  const within = (name: 'A' | 'B', t: number) => {
    const [low, high] = TOLERANCE_CLASSES.find((c) => c.name === name)!.range['wire-wound']
    return t >= low && t <= high
  }
  it.each(figures.tolerances_1995)('agrees with the printed tolerances at $t90_C degC', (row) => {
    // The 1995 edition has wider ranges (A to 650 degC, B from -200 to 850 degC); the formula is the same.
    const slope = standard.toSignal(row.t90_C).dValueDInput
    for (const [name, kelvin, ohm] of [
      ['A', row.A_C, row.A_ohm],
      ['B', row.B_C, row.B_ohm],
    ] as const) {
      if (kelvin === null || ohm === null) continue
      const { a, b } = TOLERANCE_CLASSES.find((c) => c.name === name)!
      const tolerance = within(name, row.t90_C)
        ? classTolerance(name, 'wire-wound', row.t90_C)
        : a + b * Math.abs(row.t90_C)
      // Printed with one or two decimals: 3.55 degC stands there as 3.6.
      expect(Math.abs(tolerance - kelvin)).toBeLessThanOrEqual(0.05 + 1e-9)
      expect(Math.abs(tolerance * slope - ohm)).toBeLessThan(0.0092)
    }
  })
})
