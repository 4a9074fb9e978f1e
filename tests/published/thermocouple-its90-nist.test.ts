/**
 * NIST Standard Reference Database 60, ITS-90 Thermocouple Database (NIST Monograph 175, G. W. Burns et al., 1993), types
 * B, E, J, K, N, R, S, T; the same functions as IEC 60584-1. Tables are printed with three decimals of mV; further values
 * are computed from the coefficients with 40 digits.
 */
import { describe, expect, it } from 'vitest'
import type { ThermocoupleType } from '../../app/records/conversion.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { exactToSignal } from '../../app/thermometry/exact.ts'
import { polynomial } from '../../app/thermometry/polynomial.ts'
import {
  seebeckCoefficient,
  thermocoupleApproximateTemperature,
  thermocoupleEmf,
} from '../../app/thermometry/thermocouple.ts'
import { THERMOCOUPLES } from '../../app/thermometry/thermocouple-functions.ts'
import figures from './figures/thermocouple-its90-nist.json' with { type: 'json' }

interface Row {
  type: ThermocoupleType
  forward: { t_low_C: number; t_high_C: number; coefficients: number[] }[]
  exponential?: { a0: number; a1: number; a2: number }
  inverse: {
    t_low_C: number
    t_high_C: number
    E_low_mV: number
    E_high_mV: number
    stated_error_low_C: number
    stated_error_high_C: number
    coefficients: number[]
    error_found_C: [number, number]
  }[]
  table: [t: number, mV: number][]
  computed: [t: number, mV: number | string, slope: number][]
}
const types = figures.types as unknown as Row[]

describe.each(types)('thermocouple type $type', (row) => {
  const { type } = row
  const { forward, inverse } = THERMOCOUPLES[type]
  const prepared = prepare({ kind: 'thermocouple', type })

  it('has the published coefficients and limits', () => {
    expect(forward.map(({ lowC, highC, c }) => [lowC, highC, c])).toEqual(
      row.forward.map(({ t_low_C, t_high_C, coefficients }) => [t_low_C, t_high_C, coefficients]),
    )
    expect(inverse.map(({ lowMv, highMv, d }) => [lowMv, highMv, d])).toEqual(
      row.inverse.map(({ E_low_mV, E_high_mV, coefficients }) => [E_low_mV, E_high_mV, coefficients]),
    )
    const { exponential } = forward.at(-1)!
    expect(exponential).toEqual(
      row.exponential && [row.exponential.a0, row.exponential.a1, row.exponential.a2],
    )
  })

  it('gives every printed emf of the table to its last decimal', () => {
    for (const [t, mV] of row.table) {
      expect(Math.abs(thermocoupleEmf(type, t) - mV), `${t} degC`).toBeLessThanOrEqual(0.0005 + 1e-9)
      expect(prepared.toSignal(t).marks).toEqual([])
    }
  })

  it('gives the computed emf and slope', () => {
    for (const [t, mV, slope] of row.computed) {
      // Below -260 degC the terms of the polynomials cancel to 1 in 1e4 or more: some 1e-11 mV, 10 nanokelvin, are left.
      const lost = t < -260 ? 2e-11 : 2e-13 * Math.max(1, Math.abs(Number(mV)))
      expect(Math.abs(thermocoupleEmf(type, t) - Number(mV)), `${t} degC`).toBeLessThan(lost)
      expect(Math.abs(seebeckCoefficient(type, t) / slope - 1), `${t} degC`).toBeLessThan(2e-9)
      const { text } = exactToSignal({ kind: 'thermocouple', type }, t)
      expect(Math.abs(Number(text) / Number(mV) - 1), `${t} degC, exact`).toBeLessThan(3e-14)
    }
  })

  it('gives back every temperature from the computed emf', () => {
    for (const [t, mV] of row.computed) {
      const { value, marks } = prepared.toTemperature(Number(mV))
      if (marks.includes('two-answers')) continue
      expect(Math.abs(value - t), `${t} degC`).toBeLessThan(1e-7)
    }
  })

  it('gives back every temperature of the table within half a unit of its last decimal', () => {
    for (const [t, mV] of row.table) {
      const { value, marks } = prepared.toTemperature(mV)
      if (Number.isNaN(value) || marks.length > 0) continue
      expect(
        Math.abs(thermocoupleEmf(type, value) - thermocoupleEmf(type, t)),
        `${t} degC`,
      ).toBeLessThanOrEqual(0.00051)
    }
  })

  it('takes its first guess from the published inverse', () => {
    for (const { d, lowMv, highMv } of inverse) {
      const guess = thermocoupleApproximateTemperature(type, (lowMv + highMv) / 2)
      expect(guess).toBe(polynomial(d, (lowMv + highMv) / 2))
    }
    expect(thermocoupleApproximateTemperature(type, inverse[0]!.lowMv - 0.1)).toBeNaN()
  })

  it('has a published inverse that errs as much as the publication says', () => {
    for (const piece of row.inverse) {
      let low = 0
      let high = 0
      for (let i = 0; i <= 2000; i++) {
        const t = piece.t_low_C + ((piece.t_high_C - piece.t_low_C) * i) / 2000
        const mV = thermocoupleEmf(type, t)
        const guess = polynomial(piece.coefficients, mV)
        low = Math.min(low, guess - t)
        high = Math.max(high, guess - t)
      }
      expect(low).toBeGreaterThan(piece.error_found_C[0] - 1e-3)
      expect(high).toBeLessThan(piece.error_found_C[1] + 1e-3)
      // The stated errors are rounded to the digits they are printed with.
      const unit = Math.abs(piece.stated_error_low_C) < 0.01 ? 5e-4 : 5e-3
      expect(low).toBeGreaterThan(piece.stated_error_low_C - unit)
      expect(high).toBeLessThan(piece.stated_error_high_C + unit)
    }
  })
})

describe('thermocouple type B', () => {
  const prepared = prepare({ kind: 'thermocouple', type: 'B' })

  it('is not monotonic below about 42 degC: the printed -0.001 mV has two answers, and says so', () => {
    const { value, marks, message } = prepared.toTemperature(-0.001)
    expect(marks).toEqual(['two-answers'])
    expect(value).toBeGreaterThan(37)
    expect(value).toBeLessThan(42)
    expect(message).toMatch(/4\.55/)
  })

  it('has one answer from 0 mV up and none below its least emf', () => {
    expect(prepared.toTemperature(0.001).marks).toEqual([])
    const none = prepared.toTemperature(-0.0026)
    expect(none.value).toBeNaN()
    expect(none.marks).toEqual(['outside-range'])
  })
})
