import { describe, expect, it } from 'vitest'
import { compareResistors } from '../../../app/checks/resistor-set.ts'
import { temperatureCoefficients } from '../../../app/checks/resistor-temperature.ts'

describe('compareResistors', () => {
  const truth = { best: 100.0001, a: 25.0003, b: 99.9995, c: 1.00002 }
  const ratio = (over: keyof typeof truth, under: keyof typeof truth, error = 0) => ({
    over,
    under,
    ratio: (truth[over] / truth[under]) * (1 + error),
    u: (truth[over] / truth[under]) * 2e-8,
  })
  const best = { resistor: 'best', ohm: truth.best, uRelative: 5e-8 }

  it('finds every resistor from a known one, through others', () => {
    const { resistors, degreesOfFreedom, agrees } = compareResistors(
      [ratio('a', 'best'), ratio('b', 'best'), ratio('a', 'b'), ratio('c', 'a')],
      [best],
    )
    for (const { name, ohm } of resistors) expect(ohm / truth[name as 'a']).toBeCloseTo(1, 12)
    expect([degreesOfFreedom, agrees]).toEqual([1, true])
    const u = (name: string) => resistors.find((r) => r.name === name)!.uRelative
    expect(u('best')).toBeCloseTo(5e-8, 12)
    // a: straight from the best, or over b: two ways of 2e-8 and 2e-8 sqrt 2.
    expect(u('a')).toBeCloseTo(Math.hypot(5e-8, 2e-8 / Math.sqrt(1.5)), 11)
    expect(u('c')).toBeCloseTo(Math.hypot(u('a'), 2e-8), 11)
  })

  it('says when the ratios contradict one another, and grows its uncertainty', () => {
    const ratios = [ratio('a', 'best'), ratio('b', 'best'), ratio('a', 'b', 5e-7)]
    const { agrees, resistors } = compareResistors(ratios, [best])
    expect(agrees).toBe(false)
    expect(resistors[1]!.uRelative).toBeGreaterThan(1e-7)
  })

  it('refuses a set that hangs on nothing known, and a resistor over itself', () => {
    expect(() => compareResistors([ratio('a', 'b')], [best])).toThrow(/leads from a known resistor to a, b/)
    expect(() => compareResistors([ratio('a', 'best')], [])).toThrow(/Measure one, or give a value/)
    expect(() => compareResistors([ratio('a', 'a')], [best])).toThrow(/a cannot be compared with itself/)
  })
})

describe('temperatureCoefficients', () => {
  const at = (celsius: number) => {
    const d = celsius - 23
    return { celsius, ohm: 100 * (1 + 2e-6 * d - 3e-8 * d * d), uRelative: 2e-8 }
  }

  it('finds alpha and beta from three temperatures and more', () => {
    const found = temperatureCoefficients([18, 23, 28, 33].map(at), 23)
    expect(found.ohm).toBeCloseTo(100, 9)
    expect(found.alphaPerK).toBeCloseTo(2e-6, 12)
    expect(found.betaPerK2).toBeCloseTo(-3e-8, 13)
    expect(found.uAlphaPerK).toBeGreaterThan(0)
  })

  it('finds alpha alone from two, and refuses one', () => {
    const found = temperatureCoefficients([at(23), at(28)], 23)
    expect(found.alphaPerK).toBeCloseTo(2e-6 - 3e-8 * 5, 12)
    expect(found.betaPerK2).toBe(0)
    expect(() => temperatureCoefficients([at(23), at(23.01)], 23)).toThrow(/two temperatures at least/)
  })
})
