import { describe, expect, it } from 'vitest'
import { analyse } from '../../../app/results/analysis.ts'
import { compareWtp } from '../../../app/results/wtp.ts'
import { quickNight } from '../../soak/hostile/night.ts'

/** 25 ohm; 250 mK for each relative 1e-3, so that 1e-7 ohm is 1 uK. */
const OHM = 25
const MK_PER_RELATIVE = 250_000
const ohm = (mk: number) => (mk / MK_PER_RELATIVE) * OHM

const measured = (when: 'before' | 'after', mk: number, dof: number) => ({
  point: `wtp-${when}`,
  when,
  ohm: OHM + ohm(mk),
  uOhm: ohm(0.1),
  dof,
})
const changedBy = (mk: number, dof: number) =>
  compareWtp([measured('before', 0, dof), measured('after', mk, dof)], null, MK_PER_RELATIVE, 0)

describe('R(0.01 °C) of one night', () => {
  it('repeats alike before and after: what three readings each tell of that is taken together', () => {
    const step = 0.1 * Math.SQRT2
    // Student’s t at 99 % (JCGM 100:2008, table G.2): 3.36 for 8 degrees of freedom, 4.60 for the 4 that both have apart.
    expect(changedBy(3.5 * step, 2).changed).toBe(true)
    expect(changedBy(3.2 * step, 2).changed).toBe(false)
  })

  it('is judged by the normal distribution where its uncertainty is known', () => {
    const step = 0.1 * Math.SQRT2
    expect(changedBy(2.7 * step, Number.POSITIVE_INFINITY).changed).toBe(true)
    expect(changedBy(2.5 * step, Number.POSITIVE_INFINITY).changed).toBe(false)
  })

  it('is known no better than its measurements agree with each other', () => {
    const { input } = quickNight({ kind: 'reference-jump', order: 'symmetric', seed: 5 })
    const { references, referenceWtp } = analyse({
      ...input,
      options: { monteCarloTrials: 0, interpolationStepK: 1000, bandSteps: 0 },
    })
    const half = Math.abs(referenceWtp!.changeMk!) / 2
    const perRelative = 1000 / 3.9886e-3
    expect(half).toBeGreaterThan(0.5)
    expect(references[0]!.sessionWtp!.uRelative * perRelative).toBeCloseTo(half, 2)
  })
})
