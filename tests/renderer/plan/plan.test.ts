import { describe, expect, it } from 'vitest'
import { Plan } from '../../../app/records/plan.ts'
import {
  draftOf,
  newPlan,
  planReduce,
  presetOf,
  readPlan,
  readSetpoints,
  spread,
  startable,
} from '../../../renderer/plan/plan.model.ts'

describe('readPlan', () => {
  it('reads numbers as people type them and gives a plan the station takes', () => {
    let draft = newPlan('p')
    draft = planReduce(draft, {
      do: 'row',
      key: draft.rows[0]!.key,
      part: { celsius: '99,974 °C', label: 'up' },
    })
    draft = planReduce(draft, { do: 'rule', field: 'holdS', text: '15 min' })
    draft = planReduce(draft, { do: 'set', part: { maxWait: '90 min', ramp: '0,5' } })
    const { plan, problems } = readPlan(draft)
    expect(problems).toEqual({})
    expect(plan).toMatchObject({
      setpoints: [{ celsius: 99.974, label: 'up' }],
      maxWaitS: 5400,
      rampKPerMin: 0.5,
    })
    expect(plan?.settling.holdS).toBe(900)
    expect(Plan.parse(plan)).toEqual(plan)
  })

  it('names each field that is not a number and gives no plan', () => {
    const draft = planReduce(newPlan('p'), { do: 'rule', field: 'windowS', text: 'long' })
    const { plan, problems } = readPlan(draft)
    expect(plan).toBeUndefined()
    expect(Object.keys(problems)).toEqual(expect.arrayContaining(['windowS', `row-${draft.rows[0]!.key}`]))
  })

  it('gives back the plan it was made from', () => {
    const plan = Plan.parse({
      id: 'x',
      name: 'Night',
      setpoints: [{ celsius: -38.8344, label: 'up', selfHeating: true }, { celsius: 0.01 }],
      settling: {
        windowS: 300,
        driftMkPerMin: 0.5,
        spreadMk: 1.5,
        bandK: 0.2,
        holdS: 0,
        channels: ['a'],
        adaptive: 3,
      },
      maxWaitS: 5400,
      rampKPerMin: 1.5,
      wtpCheck: true,
    })
    expect(readPlan(draftOf(plan)).plan).toEqual(plan)
  })
})

describe('readSetpoints', () => {
  it('takes a column of a spreadsheet with labels and passes headings over', () => {
    expect(readSetpoints('Temperature\tLabel\r\n0\tup\r\n49,5;\n\n99.9 °C\tdown')).toEqual([
      { celsius: '0', label: 'up' },
      { celsius: '49,5', label: '' },
      { celsius: '99.9 °C', label: 'down' },
    ])
  })
})

describe('spread', () => {
  it('goes up and back without repeating the turn', () => {
    expect(spread(0, 100, 3, true).map((s) => `${s.celsius}${s.label}`)).toEqual([
      '0up',
      '50up',
      '100up',
      '50down',
      '0down',
    ])
    expect(spread(100, 0, 2, false).map((s) => s.celsius)).toEqual(['100', '0'])
  })
})

describe('presetOf', () => {
  it('knows a preset by its numbers, however they are typed', () => {
    const draft = planReduce(newPlan('p'), { do: 'preset', id: 'careful' })
    expect(presetOf(draft.rule)).toBe('careful')
    expect(presetOf({ ...draft.rule, holdS: '15 min' })).toBe('careful')
    expect(presetOf({ ...draft.rule, holdS: '16 min' })).toBeUndefined()
  })
})

describe('startable', () => {
  const check = (id: string, severity: 'fine' | 'warning' | 'stop') => ({
    id,
    severity,
    words: id,
    remedy: '',
  })
  const preview = (...checks: ReturnType<typeof check>[]) => ({
    steps: [],
    totalS: 1,
    readings: 1,
    bytes: 1,
    checks,
  })

  it('waits for every warning to be taken on and never passes a stop', () => {
    expect(startable(undefined, []).ready).toBe(false)
    expect(startable(preview(check('a', 'fine')), []).ready).toBe(true)
    expect(startable(preview(check('w', 'warning')), []).ready).toBe(false)
    expect(startable(preview(check('w', 'warning')), ['w']).ready).toBe(true)
    expect(startable(preview(check('s', 'stop')), ['s']).ready).toBe(false)
  })
})

describe('planReduce', () => {
  it('does not lose the last row and keeps order when rows move', () => {
    const one = newPlan('p')
    expect(planReduce(one, { do: 'remove', key: one.rows[0]!.key })).toBe(one)
    const three = planReduce(one, { do: 'paste', key: one.rows[0]!.key, text: '1\n2\n3' })
    expect(three.rows.map((r) => r.celsius)).toEqual(['1', '2', '3'])
    const moved = planReduce(three, { do: 'move', key: three.rows[2]!.key, by: -1 })
    expect(moved.rows.map((r) => r.celsius)).toEqual(['1', '3', '2'])
    expect(planReduce(three, { do: 'move', key: three.rows[0]!.key, by: -1 })).toBe(three)
  })
})
