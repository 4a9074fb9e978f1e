import { describe, expect, it } from 'vitest'
import {
  conformityAsked,
  deviationFromStandardMk,
  narrowestClass,
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
    // A fail is outside by more than U.
    expect(verdictOf(120, 100, 20)).toBe('conditional-fail')
    expect(verdictOf(121, 100, 20)).toBe('fail')
  })

  it('knows only pass and fail where there is no uncertainty', () => {
    expect(verdictOf(100, 100, 0)).toBe('pass')
    expect(verdictOf(100.001, 100, 0)).toBe('fail')
  })
})

const point = (celsius: number, deviationMk: number, expandedMk = 5) => ({
  point: `at ${celsius}`,
  celsius,
  ohm: standardOhm(100, celsius + deviationMk / 1e3),
  expandedMk,
})

describe('narrowestClass', () => {
  it('takes the tolerance by the distance from 0 °C, below it as above', () => {
    // IEC 60751:2008: class B 0.3 + 0.005 |t|, 0.8 K at -100 degC and at 100 degC.
    for (const celsius of [-100, 100]) {
      const found = narrowestClass([point(celsius, 700)], 100)!
      expect([found.class, found.verdict]).toEqual(['B', 'pass'])
      expect(found.points[0]!.toleranceMk).toBeCloseTo(800, 9)
    }
  })

  it('finds the narrowest class that every point passes', () => {
    // IEC 60751:2008: class AA 0.1 + 0.0017 |t|, class A 0.15 + 0.002 |t|.
    expect(narrowestClass([point(0, 90), point(100, 200)], 100)!.class).toBe('AA')
    const a = narrowestClass([point(0, 120), point(100, 200)], 100)!
    expect([a.class, a.verdict]).toEqual(['A', 'pass'])
  })

  it('does not let a deviation just within AA pass it when U does not allow it', () => {
    const result = narrowestClass([point(0, 97)], 100)!
    expect([result.class, result.verdict]).toEqual(['A', 'pass'])
  })

  it('reports the failure where no class is met', () => {
    const result = narrowestClass([point(0, 2000)], 100)!
    expect(result.verdict).toBe('fail')
  })

  it('leaves out classes whose range does not hold at a point', () => {
    expect(narrowestClass([point(300, 10)], 100)!.class).toBe('A')
  })
})

describe('conformityAsked', () => {
  const said = (...args: Parameters<typeof conformityAsked>) => {
    const found = conformityAsked(...args)
    return 'refusal' in found ? found.refusal : [found.class, found.verdict, found.source]
  }
  const asked = { class: 'AA', rule: 'guarded' } as const

  it('judges the class that was asked for and no other, and names the edition and the element', () => {
    const points = [point(0, 90), point(100, 200)]
    expect(said(points, 100, asked, 'film')).toEqual(['AA', 'pass', 'IEC 60751:2022, film element as stated'])
    expect(said(points, 100, { ...asked, class: 'B' }, 'wire-wound')).toEqual([
      'B',
      'pass',
      'IEC 60751:2022, wire-wound element as stated',
    ])
    expect(said([point(0, 2000)], 100, asked, 'wire-wound')).toContain('fail')
  })

  it('gives a film element no class AA at 200 degC, where its range ends at 150 degC', () => {
    // IEC 60751: class AA, wire-wound from -50 to 250 degC, film from 0 to 150 degC.
    expect(said([point(0, 1), point(200, 1)], 100, asked, 'film')).toMatch(
      /from 0 °C to 150 °C, and 200\.00 °C lies outside/,
    )
    expect(said([point(0, 1), point(200, 1)], 100, asked, 'wire-wound')).toContain('pass')
  })

  it('takes a point for one of the range a tenth of a kelvin beyond its ends, and no further', () => {
    // IEC 60751:2022, table 4 (number of the table from memory): a film element of class AA from 0 °C to 150 °C.
    const holds = (celsius: number) =>
      !('refusal' in conformityAsked([point(celsius, 0)], 100, { class: 'AA', rule: 'simple' }, 'film'))
    expect([-0.105, -0.095, 150.095, 150.105].map(holds)).toEqual([false, true, true, false])
  })

  it('makes no statement where the construction of the element is not stated', () => {
    expect(said([point(0, 1)], 100, asked, undefined)).toMatch(/wire-wound or film/)
  })

  it('takes the deviation alone by the simple rule, and U as a guard band by the other', () => {
    const near = [point(0, 98)]
    expect(said(near, 100, { ...asked, rule: 'simple' }, 'film')).toContain('pass')
    expect(said(near, 100, asked, 'film')).toContain('conditional-pass')
    expect(said([point(0, 102)], 100, { ...asked, rule: 'simple' }, 'film')).toContain('fail')
  })
})

describe('deviationFromStandardMk', () => {
  it('is what the thermometer would show by the standard less the true temperature', () => {
    // IEC 60751, table of R(t): 138.5055 ohm at 100 degC.
    expect(deviationFromStandardMk(138.5055, 100, 100)).toBeCloseTo(0, 1)
    expect(deviationFromStandardMk(138.5434, 100, 100)).toBeCloseTo(100, 0)
  })
})
