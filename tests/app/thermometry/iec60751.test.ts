import { describe, expect, it } from 'vitest'
import { prepare } from '../../../app/thermometry/convert.ts'
import {
  callendarVanDusenRatio,
  callendarVanDusenTemperature,
  IEC60751,
} from '../../../app/thermometry/iec60751.ts'
import { classesKept, classTolerance } from '../../../app/thermometry/iec60751-classes.ts'

describe('callendarVanDusenTemperature', () => {
  it('loses no digits next to 0 degC, where the plain root of the quadratic does', () => {
    for (const t of [1e-9, -1e-9, 1e-6, -1e-6]) {
      expect(
        Math.abs(callendarVanDusenTemperature(IEC60751, callendarVanDusenRatio(IEC60751, t)) - t),
      ).toBeLessThan(1e-13)
    }
  })

  it('takes B of zero for a straight line', () => {
    expect(callendarVanDusenTemperature({ a: 4e-3, b: 0, c: 0 }, 1.4)).toBeCloseTo(100, 12)
  })

  it('gives NaN above the top of the parabola', () => {
    expect(callendarVanDusenTemperature(IEC60751, 10)).toBeNaN()
  })
})

describe('prepare, callendar-van-dusen', () => {
  it('holds C at zero when a certificate gives none', () => {
    const own = prepare({ kind: 'callendar-van-dusen', r0: 100, a: 3.9083e-3, b: -5.775e-7 })
    expect(own.toSignal(-100).value).toBeCloseTo(100 * (1 - 0.39083 - 5.775e-3), 10)
    expect(own.toSignal(-100).value).not.toBeCloseTo(prepare({ kind: 'iec60751' }).toSignal(-100).value, 3)
  })

  it('takes single coefficients in place of the standard ones', () => {
    const thousand = prepare({ kind: 'iec60751', r0: 1000 })
    expect(thousand.toSignal(100).value).toBeCloseTo(1385.055, 9)
    expect(thousand.toTemperature(1.385055, { quantity: 'ratio' }).value).toBeCloseTo(100, 9)
  })
})

describe('classTolerance', () => {
  it('refuses a temperature at which the class does not hold, naming its range', () => {
    expect(() => classTolerance('AA', 'film', 200)).toThrow(/0 degC to 150 degC/)
    expect(classTolerance('AA', 'wire-wound', 200)).toBeCloseTo(0.44, 12)
  })
})

describe('classesKept', () => {
  it('names every class whose tolerance and range hold, the strictest first', () => {
    expect(classesKept('wire-wound', 100, 0.3)).toEqual(['A', 'B', 'C'])
    expect(classesKept('wire-wound', 100, -0.2)).toEqual(['AA', 'A', 'B', 'C'])
    expect(classesKept('film', 400, 0.5)).toEqual(['B', 'C'])
    expect(classesKept('wire-wound', 700, 0)).toEqual([])
    expect(classesKept('wire-wound', 20, Number.NaN)).toEqual([])
  })
})
