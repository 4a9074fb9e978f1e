import { describe, expect, it } from 'vitest'
import {
  conformityOf,
  deviationFromStandardMk,
  standardOhm,
  verdictOf,
} from '../../../app/results/conformity.ts'

describe('verdictOf', () => {
  it('passes within the tolerance less the guard band, and fails beyond it and the guard band', () => {
    expect(verdictOf(80, 100, 20)).toBe('pass')
    expect(verdictOf(-80, 100, 20)).toBe('pass')
    expect(verdictOf(81, 100, 20)).toBe('conditional-pass')
    expect(verdictOf(100, 100, 20)).toBe('conditional-pass')
    expect(verdictOf(101, 100, 20)).toBe('conditional-fail')
    expect(verdictOf(121, 100, 20)).toBe('fail')
  })

  it('knows only pass and fail where there is no uncertainty', () => {
    expect(verdictOf(100, 100, 0)).toBe('pass')
    expect(verdictOf(100.001, 100, 0)).toBe('fail')
  })
})

describe('conformityOf', () => {
  const point = (celsius: number, deviationMk: number, expandedMk = 5) => ({
    point: `at ${celsius}`,
    celsius,
    ohm: standardOhm(100, celsius + deviationMk / 1e3),
    expandedMk,
  })

  it('finds the narrowest class that every point passes', () => {
    // IEC 60751:2008: class AA 0.1 + 0.0017 |t|, class A 0.15 + 0.002 |t|.
    expect(conformityOf([point(0, 90), point(100, 200)], 100)!.class).toBe('AA')
    const a = conformityOf([point(0, 120), point(100, 200)], 100)!
    expect([a.class, a.verdict]).toEqual(['A', 'pass'])
  })

  it('does not let a deviation just within AA pass it when U does not allow it', () => {
    const result = conformityOf([point(0, 97)], 100)!
    expect([result.class, result.verdict]).toEqual(['A', 'pass'])
  })

  it('reports the failure where no class is met', () => {
    const result = conformityOf([point(0, 2000)], 100)!
    expect(result.verdict).toBe('fail')
  })

  it('leaves out classes whose range does not hold at a point', () => {
    expect(conformityOf([point(300, 10)], 100)!.class).toBe('A')
  })
})

describe('deviationFromStandardMk', () => {
  it('is what the thermometer would show by the standard less the true temperature', () => {
    // IEC 60751, table of R(t): 138.5055 ohm at 100 degC.
    expect(deviationFromStandardMk(138.5055, 100, 100)).toBeCloseTo(0, 1)
    expect(deviationFromStandardMk(138.5434, 100, 100)).toBeCloseTo(100, 0)
  })
})
