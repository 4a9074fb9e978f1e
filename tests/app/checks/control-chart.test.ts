import { describe, expect, it } from 'vitest'
import { controlChart } from '../../../app/checks/control-chart.ts'
import { seededRandom } from '../../../app/statistics/random.ts'

const entries = (values: readonly number[], u = 0.1) =>
  values.map((value, i) => ({ date: `${2000 + i}-01-01`, value, u }))
const chart = (values: readonly number[], u?: number) => controlChart('x', 'mK', entries(values, u))

describe('controlChart', () => {
  it('draws limits at two and three standard deviations of the entries before the newest', () => {
    const { centre, limits } = chart([1, 3, 2, 1, 3, 7])
    expect(centre).toBe(2)
    // Steps 2, 1, 1, 2: median 1.5, over sqrt(2) 0.67449 (normal distribution), times sqrt(1 + 1/5).
    const sigma = (1.5 / (Math.SQRT2 * 0.67449)) * Math.sqrt(1.2)
    expect(limits!.warning).toBeCloseTo(2 * sigma, 4)
    expect(limits!.action).toBeCloseTo(3 * sigma, 4)
  })

  it('never trusts a calm spell more than the stated uncertainties', () => {
    expect(chart([1, 1, 1, 1, 1], 0.2).limits!.warning).toBeCloseTo(0.4 * Math.sqrt(1.25), 12)
  })

  it('gives a value of larger uncertainty wider limits', () => {
    const given = entries([0, 0.1, 0, -0.1, 0.5])
    expect(controlChart('x', 'mK', given).findings).toHaveLength(1)
    expect(controlChart('x', 'mK', [...given.slice(0, 4), { ...given[4]!, u: 0.5 }]).findings).toEqual([])
  })

  it('names the one that moved and none of the seven good ones before it', () => {
    const good = [0.02, -0.05, 0.04, 0, -0.03, 0.05, -0.02]
    const { findings, limits, centre } = chart([...good, 1.5])
    expect(findings.map(({ date, rule }) => [date, rule])).toEqual([['2007-01-01', 'action']])
    expect(limits!.action).toBeLessThan(0.5)
    expect(Math.abs(centre)).toBeLessThan(0.05)
  })

  it('does not let a wrong value widen the limits of those after it', () => {
    const { findings } = chart([0, 0.1, 0, -0.1, 0, 9, 0, 0.1, 0, 2])
    expect(findings.map(({ date }) => date)).toEqual(['2005-01-01', '2009-01-01'])
  })

  it('says that the level has moved once seven lie on one side of what was before them, and goes on from there', () => {
    const { findings, centre } = chart([-1, -1, -1, -1, -1, -1, -1, 1, 1, 1, 1, 1, 1, 1, 1], 1)
    expect(findings.map(({ date, rule }) => [date, rule])).toEqual([['2013-01-01', 'run']])
    expect(findings[0]!.words).toContain('from 2007-01-01 to 2013-01-01')
    expect(centre).toBe(1)
    expect(chart([-1, -1, -1, -1, -1, -1, -1, 1, 1, 1, 1, 1, 1], 1).findings).toEqual([])
  })

  it('has no limits while fewer than four are before the newest', () => {
    expect(chart([1, 2, 3]).limits).toBeNull()
    expect(chart([1, 2, 3, 40]).limits).toBeNull()
    expect(chart([1, 2, 3, 4, 5]).limits).not.toBeNull()
  })

  it('seldom raises its voice over values that scatter as they state', () => {
    const random = seededRandom(5)
    let judged = 0
    let alarms = 0
    for (let i = 0; i < 400; i++) {
      const found = chart(
        Array.from({ length: 12 }, () => random.normal()),
        1,
      )
      judged += found.judgedBy.filter(Boolean).length
      alarms += found.findings.filter(({ rule }) => rule === 'action').length
    }
    // Three standard deviations of a normal distribution are left by 0.27 %.
    expect(alarms / judged).toBeLessThan(0.005)
  })
})
