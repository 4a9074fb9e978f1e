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

describe('compareWtp', () => {
  const at = (when: 'before' | 'after', mk: number, uMk: number, dof: number) => ({
    ...measured(when, mk, dof),
    uOhm: ohm(uMk),
  })
  const three = [at('before', 0, 0.1, 2), at('before', 0.2, 0.2, 2), at('after', 0.6, 0.3, 4)]
  /** JCGM 100:2008, 4.2.4: (2 x 0.01 + 2 x 0.04 + 4 x 0.09) / 8. */
  const pooled = Math.sqrt(0.46 / 8)
  const last = { date: '2026-01-04', ohm: String(OHM - ohm(1)), uOhm: ohm(0.3) }
  const compared = (list: typeof three, entry: typeof last | null, scale = 0) =>
    compareWtp(list, entry, MK_PER_RELATIVE, scale)

  it('takes the mean of the readings before from that of those after, and U from what all of them repeat to', () => {
    const found = compared(three, null)
    expect(found.changeMk).toBeCloseTo(0.5, 5)
    expect(found.expandedChangeMk).toBeCloseTo(2 * Math.SQRT2 * pooled, 5)
    expect(found.changed).toBe(false)
    expect(found.sinceLast).toBeNull()
    expect(found.measurements).toHaveLength(3)
  })

  it('holds the mean of all against the last entry, with what its ohm and today’s scale leave open', () => {
    const { sinceLast } = compared(three, last, 4e-7)
    expect(sinceLast!.date).toBe('2026-01-04')
    expect(sinceLast!.differenceMk).toBeCloseTo(0.8 / 3 + 1, 4)
    expect(sinceLast!.expandedMk).toBeCloseTo(2 * Math.hypot(pooled, 0.3, 0.1), 5)
    expect(sinceLast!.moved).toBe(true)
    // The same difference with a scale that explains it: 1.27 mK within 2.6 x 0.6 mK.
    expect(compared(three, last, 2.4e-6).sinceLast!.moved).toBe(false)
  })

  it('says of a thermometer that went down as it does of one that went up', () => {
    const lower = compared([at('before', 0, 0.1, 20), at('after', -2, 0.1, 20)], {
      ...last,
      ohm: String(OHM + ohm(1)),
    })
    expect(lower.changeMk).toBeCloseTo(-2, 4)
    expect(lower.changed).toBe(true)
    expect(lower.sinceLast).toMatchObject({ moved: true })
    expect(lower.sinceLast!.differenceMk).toBeCloseTo(-2, 4)
  })

  it('knows no change of what was measured on one side only, and nothing of what was not measured', () => {
    for (const when of ['before', 'after'] as const) {
      const found = compared([at(when, 0.5, 0.1, 4)], last)
      expect(found).toMatchObject({ changeMk: null, expandedChangeMk: null, changed: false })
      expect(found.sinceLast!.differenceMk).toBeCloseTo(1.5, 4)
    }
    expect(compared([], last)).toMatchObject({ changeMk: null, changed: false, sinceLast: null })
  })

  it('takes the largest uncertainty where one of them is not of readings', () => {
    const found = compared([at('before', 0, 0.1, 4), at('after', 0, 0.4, Number.POSITIVE_INFINITY)], null)
    expect(found.expandedChangeMk).toBeCloseTo(2 * Math.SQRT2 * 0.4, 5)
  })
})
