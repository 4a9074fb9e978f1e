import { describe, expect, it } from 'vitest'
import { planOf } from './box.ts'
import { answering, hurry, night } from './plan-night.ts'

describe('guided checks of a plan', () => {
  it('ask, wait and measure again: places exchanged, thermometers lifted, insulation read', async () => {
    const plan = planOf([25], {
      ...hurry,
      setpoints: [{ celsius: 25, selfHeating: false, exchange: true, lift: true }],
      insulationCheck: true,
    })
    const asked: string[] = []
    const n = await night(plan, {}, (box) =>
      answering(box, (words) => {
        asked.push(words)
        if (words.includes('change places')) return 'They have changed places'
        if (words.startsWith('Pull')) return 'They are lifted'
        if (words.startsWith('Push')) return 'They are back'
        return words.includes('Reference') ? 'Above 1 GΩ' : '1 MΩ to 10 MΩ'
      }),
    )
    expect(n.finished.ending).toBe('complete')
    expect(asked[0]).toMatch(/Reference SPRT to where Industrial PRT A is/)
    expect(n.points.map((p) => [p.id, p.kind])).toEqual([
      ['point-1', 'comparison'],
      ['point-1-exchanged', 'comparison'],
      ['point-1-lifted', 'lift'],
    ])
    expect(n.points[0]!.places).toEqual([
      { channel: 'ref', place: 'place 1' },
      { channel: 'prt-a', place: 'place 2' },
    ])
    expect(n.points[1]!.places!.map((p) => p.place)).toEqual(['place 2', 'place 1'])
    expect(n.points[2]!.liftMm).toBe(20)
    const insulation = n.events.filter((e) => e.data.check === 'insulation')
    expect(insulation.map((e) => e.data.ohm)).toEqual([1e9, 1e6])
  }, 60_000)

  it('goes on without a check that a person leaves out, and says so', async () => {
    const plan = planOf([25], {
      ...hurry,
      setpoints: [{ celsius: 25, selfHeating: false, exchange: true }],
    })
    const n = await night(plan, {}, (box) => answering(box, () => 'Leave it out'))
    expect(n.finished.ending).toBe('complete-with-marks')
    expect(n.finished.reason).toMatch(/exchange of places was left out by M. Ode/)
    expect(n.points).toHaveLength(1)
  }, 60_000)
})
