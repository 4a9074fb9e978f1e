import { describe, expect, it } from 'vitest'
import { analyse } from '../../../app/results/analysis.ts'
import { hysteresisOf, revisitsOf } from '../../../app/results/hysteresis.ts'
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
