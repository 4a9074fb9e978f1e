import { describe, expect, it } from 'vitest'
import { Plan } from '../../../app/records/plan.ts'
import { groupChecks, stillTaken, takenOn } from '../../../renderer/plan/checks.model.ts'
import { planChange } from '../../../renderer/plan/plan.change.ts'
import { draftOf, newPlan, planReduce, readPlan, startable } from '../../../renderer/plan/plan.model.ts'
import { PRESETS, presetOf, ruleWords } from '../../../renderer/plan/rule.model.ts'
import { pasteWords, readSetpoints, row, spread } from '../../../renderer/plan/setpoints.model.ts'
import { journeyWords, skipWords, stopWords } from '../../../renderer/plan/words.ts'

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
    nights: 0,
    readings: 1,
    bytes: 1,
    checks,
  })

  it('begins a plan with R(WTP) before and after where the reference is a standard thermometer', () => {
    expect(newPlan('p', true).wtpCheck).toBe(true)
    expect(newPlan('p').wtpCheck).toBe(false)
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

describe('planReduce, a pasted column', () => {
  const celsius = (draft: ReturnType<typeof newPlan>) => draft.rows.map((r) => r.celsius)
  const list = (...all: string[]) => ({ ...newPlan('p'), rows: all.map((c) => row(c)) })
  const paste = (draft: ReturnType<typeof newPlan>, at: number, text: string) =>
    celsius(planReduce(draft, { do: 'paste', key: draft.rows[at]!.key, text }))

  it('takes the place of an empty row and loses none that is filled', () => {
    expect(paste(list('0', '', '90'), 1, '10\n20')).toEqual(['0', '10', '20', '90'])
    expect(paste(list('0', '50', '90'), 1, '10\n20')).toEqual(['0', '10', '20', '50', '90'])
    expect(paste(list('0', '50', '90'), 2, '10\n20\n30')).toEqual(['0', '50', '10', '20', '30', '90'])
    expect(paste(list('0', '50', ''), 2, '10\n20')).toEqual(['0', '50', '10', '20'])
  })

  it('takes every line, the first and the last too, however the lines end', () => {
    for (const end of ['\n', '\r\n', '\r'])
      expect(paste(list(''), 0, ['-38,8', '0.01', '29.7646', '156.6'].join(end) + end)).toEqual([
        '-38,8',
        '0.01',
        '29.7646',
        '156.6',
      ])
    expect(paste(list(''), 0, '1\t0\n2\t25\n3\t50')).toEqual(['0', '25', '50'])
  })
})

describe('planReduce, whole lists', () => {
  const pasted = (text: string) => {
    const draft = newPlan('p')
    return planReduce(draft, { do: 'paste', key: draft.rows[0]!.key, text }).rows
  }

  it('goes the same way back without repeating the turn, and labels both ways', () => {
    const draft = planReduce({ ...newPlan('p'), rows: pasted('0\n50\n100') }, { do: 'turn' })
    expect(draft.rows.map(({ celsius, label }) => `${celsius} ${label}`)).toEqual([
      '0 up',
      '50 up',
      '100 up',
      '50 down',
      '0 down',
    ])
    expect(new Set(draft.rows.map(({ key }) => key)).size).toBe(5)
    const falling = planReduce({ ...newPlan('p'), rows: pasted('100\n0') }, { do: 'turn' })
    expect(falling.rows.map(({ label }) => label)).toEqual(['down', 'down', 'up'])
  })

  it('leaves out every visit of a temperature, and never the last setpoint', () => {
    const draft = { ...newPlan('p'), rows: pasted('0\n150\n0') }
    expect(planReduce(draft, { do: 'leave-out', celsius: 0 }).rows.map((r) => r.celsius)).toEqual(['150'])
    const one = planReduce(draft, { do: 'leave-out', celsius: 0 })
    expect(planReduce(one, { do: 'leave-out', celsius: 150 })).toBe(one)
  })
})

describe('planChange', () => {
  it('says which setpoint and which rule an edit touched', () => {
    const draft = newPlan('p')
    const { key } = draft.rows[0]!
    expect(planChange(draft, { do: 'row', key, part: { celsius: '5' } }).words).toBe(
      'the temperature of setpoint 1',
    )
    expect(planChange(draft, { do: 'preset', id: 'careful' }).words).toBe('the settling rule Careful')
    expect(planChange(draft, { do: 'set', part: { order: 'sequence' } }).words).toBe('the order of readings')
  })
})

describe('readSetpoints, as spreadsheets copy', () => {
  it('passes a heading and a column of numbers over, and takes a row for a column', () => {
    const celsius = (text: string) => readSetpoints(text).map((s) => s.celsius)
    expect(celsius('No.\tt / °C\tWay\r\n1\t0,01\tup\r\n2\t29,76\tup\r\n')).toEqual(['0,01', '29,76'])
    expect(celsius('0\t50\t100')).toEqual(['0', '50', '100'])
    expect(celsius('1\n2\n3')).toEqual(['1', '2', '3'])
    expect(readSetpoints('1\t0\tup\n2\t5\tup')[1]).toEqual({ celsius: '5', label: 'up' })
  })

  it('says how many lines had no temperature', () => {
    expect(pasteWords('t\n0\n50\n')).toBe('2 setpoints pasted. 1 line without a temperature passed over.')
    expect(pasteWords('0\t50')).toBe('2 setpoints pasted.')
  })
})

describe('ruleWords', () => {
  it('says a preset in numbers', () => {
    expect(ruleWords(PRESETS[1]!.rule)).toBe(
      'Drift below 1 mK/min and standard deviation below 2 mK over 5 min, within 0.2 K of the setpoint, held for 5 min.',
    )
  })
})

describe('groupChecks', () => {
  const check = (id: string, severity: 'warning' | 'note' | 'stop', remedy: string) => ({
    id,
    severity,
    words: id,
    remedy,
  })

  it('lets one speak for all that have the same remedy, and puts what forbids first', () => {
    const groups = groupChecks([
      check('hot', 'note', 'Mind it.'),
      check('a', 'warning', 'Take it out.'),
      check('b', 'warning', 'Take it out.'),
      check('c', 'stop', 'Take it out.'),
    ])
    expect(groups.map((g) => g.ids)).toEqual([['c'], ['a', 'b'], ['hot']])
    expect(groups[1]!.others.map((o) => o.id)).toEqual(['b'])
  })
})

describe('stillTaken', () => {
  it('asks again for a warning that says something else than when it was taken on', () => {
    const check = (words: string) => ({ id: 'own-range', severity: 'warning' as const, words, remedy: '' })
    const preview = (words: string) => ({
      steps: [],
      totalS: 0,
      nights: 0,
      readings: 0,
      bytes: 0,
      checks: [check(words)],
    })
    const taken = [takenOn(check('to 95 °C'))]
    expect(stillTaken(preview('to 95 °C'), taken)).toEqual(['own-range'])
    expect(stillTaken(preview('to 250 °C'), taken)).toEqual([])
    expect(stillTaken(undefined, taken)).toEqual([])
  })
})

describe('journeyWords', () => {
  const plan = (celsius: number[]) =>
    readPlan({ ...newPlan('p'), rows: celsius.map((c) => row(String(c))) }).plan!

  it('says from where to where, and how hot and cold it becomes', () => {
    expect(journeyWords(plan([15, 95, 55]), undefined, 23.44)).toBe(
      'The bath goes from 23.4 °C to 15.0 °C, then through 2 more setpoints between 15.0 °C and 95.0 °C.',
    )
    expect(journeyWords(plan([15]), undefined, null)).toContain('from where it stands now to 15.0 °C')
  })

  it('says of a skip and a stop where the bath goes', () => {
    expect(skipWords(35, 55, 25)).toContain('from 35.0 °C to 55.0 °C')
    expect(skipWords(95, null, 25)).toContain('the plan ends')
    expect(stopWords(95, 25)).toContain('goes to its safe setpoint of 25.0 °C, from 95.0 °C.')
  })
})
