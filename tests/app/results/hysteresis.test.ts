import { describe, expect, it } from 'vitest'
import { analyse } from '../../../app/results/analysis.ts'
import { hysteresisOf, revisitsOf, upAndDown } from '../../../app/results/hysteresis.ts'
import { quickNight } from '../../soak/hostile/night.ts'

const visit = (point: string, setpointC: number, differenceMk: number, afterHottest = false) => ({
  point,
  setpointC,
  label: null,
  differenceMk,
  u: 0.5,
  afterHottest,
})

describe('hysteresis', () => {
  it('is half the mean of the way down less that of the way up, where repeatability does not explain it', () => {
    const found = hysteresisOf(
      revisitsOf([visit('p1', 15, 1), visit('p2', 15, 3), visit('p5', 95, 9), visit('p6', 15, 10, true)]),
    )!
    expect(found.found).toBe(true)
    expect(found.halfMk).toBeCloseTo(4, 9)
    expect([...found.down]).toEqual(['p6'])
  })

  it('is one uncertainty of the difference, halved, where nothing is seen; null where nobody came down', () => {
    const quiet = hysteresisOf(revisitsOf([visit('p1', 15, 1), visit('p6', 15, 2, true)]))!
    expect(quiet.found).toBe(false)
    expect(quiet.halfMk).toBeCloseTo(Math.hypot(0.5, 0.5) / 2, 9)
    expect(hysteresisOf(revisitsOf([visit('p1', 15, 1), visit('p2', 15, 9)]))).toBeNull()
  })

  it('takes no second visit of the hottest temperature for the way down, and no check for worse than what is usual', () => {
    const { input } = quickNight({ kind: 'none', order: 'symmetric', seed: 12 })
    const { thermometers } = analyse({ ...input, options: { monteCarloTrials: 0 } })
    for (const { revisits } of thermometers)
      for (const { setpointC, visits } of revisits)
        expect(visits.some((v) => v.afterHottest)).toBe(setpointC < 90)
    // Of a standard thermometer none is usual: a quiet night does not bring one in.
    const standard = thermometers.find((t) => t.record.thermometer.kind === 'sprt')!
    const lines = standard.fit!.atTemperature(15).lines
    expect(lines.find((l) => l.component === 'hysteresis')!.u).toBe(0)
  })
})

describe('visits of one temperature', () => {
  it('are those within half a kelvin, and say by how much they differ', () => {
    const visits = [
      { ...visit('p1', 15, 2), u: 0.3 },
      { ...visit('p2', 15.4, -1), u: 0.4 },
      { ...visit('p3', 15.2, 0), u: 9 },
      visit('p4', 15.5, 50),
      visit('p5', 14.4, 50),
    ]
    const [only, ...others] = revisitsOf(visits)
    expect(others).toEqual([])
    expect(only).toMatchObject({ setpointC: 15, spanMk: 3 })
    expect(only!.visits.map(({ point }) => point)).toEqual(['p1', 'p2', 'p3'])
    expect(only!.uSpanMk).toBeCloseTo(0.5, 12)
  })

  it('are compared by the means of both ways, each known as a mean is', () => {
    const found = upAndDown([visit('a', 15, 1), visit('b', 15, 3), visit('c', 15, 5, true)])!
    expect(found.mk).toBeCloseTo(5 - 2, 12)
    expect(found.u).toBeCloseTo(Math.hypot(Math.hypot(0.5, 0.5) / 2, 0.5), 12)
    expect(upAndDown([visit('a', 15, 1)])).toBeNull()
    expect(upAndDown([visit('a', 15, 1, true)])).toBeNull()
  })

  it('show hysteresis beyond 2.576 of their uncertainty, up or down', () => {
    // 0.5 mK each: 2.576 x 0.7071 mK = 1.8215 mK.
    const half = (mk: number) => hysteresisOf(revisitsOf([visit('a', 15, 0), visit('b', 15, mk, true)]))!
    expect(half(1.83)).toMatchObject({ found: true })
    expect(half(1.83).halfMk).toBeCloseTo(0.915, 9)
    expect(half(-1.83).halfMk).toBeCloseTo(0.915, 9)
    expect(half(1.81).found).toBe(false)
    expect(half(1.81).halfMk).toBeCloseTo(Math.SQRT1_2 / 2, 9)
  })

  it('count by the temperature that shows most: what was seen before what was not', () => {
    const at = (setpointC: number, mk: number, u: number) => [
      { ...visit(`up${setpointC}`, setpointC, 0), u },
      { ...visit(`down${setpointC}`, setpointC, mk, true), u },
    ]
    const found = hysteresisOf(revisitsOf([...at(0, 1, 8), ...at(30, 4, 0.5), ...at(60, 6, 0.5)]))!
    expect(found).toMatchObject({ found: true, halfMk: 3 })
    expect([...found.down]).toEqual(['down0', 'down30', 'down60'])
    const quiet = hysteresisOf(revisitsOf([...at(0, 1, 2), ...at(30, 1, 8), ...at(60, 1, 4)]))!
    expect(quiet.halfMk).toBeCloseTo((8 * Math.SQRT2) / 2, 12)
  })
})

describe('a reference junction', () => {
  it('acts by the sensitivity there over that at the point', () => {
    const { input } = quickNight({ kind: 'none', order: 'symmetric', seed: 12 })
    const { thermometers } = analyse({ ...input, options: { monteCarloTrials: 0 } })
    const couple = thermometers.find((t) => t.record.thermometer.kind === 'thermocouple')!
    const hottest = couple.points.find((p) => p.pair.point === 'p5')!
    const line = hottest.budget.lines.find((l) => l.component === 'reference-junction')!
    // Type T, NIST Monograph 175: 38.7 uV/K at 0 degC; 46.6 uV/K at 95 degC by the derivative of its reference function.
    expect(line.u).toBeCloseTo((5 * 38.75) / 46.6, 1)
  })
})
