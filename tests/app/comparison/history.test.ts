import { describe, expect, it } from 'vitest'
import { controlChart, wtpChart } from '../../../app/comparison/history.ts'
import { Thermometer } from '../../../app/records/register.ts'

const entries = (values: readonly number[], u = 0.1) =>
  values.map((value, i) => ({ date: `20${10 + i}-01-01`, value, u }))

describe('controlChart', () => {
  it('draws limits at two and three standard deviations from the moving range', () => {
    const { centre, limits } = controlChart('x', 'mK', entries([1, 3, 1, 3, 1, 3]))
    expect(centre).toBe(2)
    // mean moving range 2 over d2 = 1.128 (ISO 7870-2)
    expect(limits!.warning).toBeCloseTo((2 * 2) / 1.128, 12)
    expect(limits!.action).toBeCloseTo((3 * 2) / 1.128, 12)
  })

  it('never trusts a calm spell more than the stated uncertainties', () => {
    expect(controlChart('x', 'mK', entries([1, 1, 1, 1, 1], 0.2)).limits!.warning).toBeCloseTo(0.4, 12)
  })

  it('names a value beyond the action limit', () => {
    const { findings } = controlChart('x', 'mK', entries([0, 0.1, 0, -0.1, 0, 0.1, 0, -0.1, 0, 0.1, 0, 2.5]))
    const action = findings.filter((f) => f.rule === 'action')
    expect(action.map((f) => f.date)).toEqual(['2021-01-01'])
    expect(action[0]!.words).toMatch(/above its mean/)
  })

  it('names a run on one side of the mean', () => {
    const { findings } = controlChart('x', 'mK', entries([-1, -1, -1, -1, -1, -1, -1, 1, 1, 1, 1, 1, 1], 1))
    expect(findings.map((f) => f.rule)).toEqual(['run'])
  })

  it('says nothing of limits with three entries', () => {
    expect(controlChart('x', 'mK', entries([1, 2, 3])).limits).toBeNull()
  })
})

describe('wtpChart', () => {
  it('shows R(0.01 °C) as a temperature against its first entry', () => {
    const thermometer = Thermometer.parse({
      id: 't',
      name: 'SPRT',
      kind: 'sprt',
      lowC: 0,
      highC: 420,
      wtpHistory: [
        { date: '2024-01-01', ohm: '25.4812345', uOhm: 1e-5 },
        { date: '2025-01-01', ohm: '25.4813361', uOhm: 1e-5 },
      ],
    })
    // 0.1 ohm/K: 101.6 microohm are 1 mK.
    expect(wtpChart(thermometer).entries[1]!.value).toBeCloseTo(1, 2)
  })
})
