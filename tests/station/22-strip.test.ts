import { describe, expect, it } from 'vitest'
import { expectedMarks, Strip } from '../../main/station/strip.ts'

const alarm = (data: Record<string, unknown>) => ({
  kind: 'alarm' as const,
  utcUs: 1_700_000_000_000_000,
  monoUs: 0,
  who: 'station',
  subject: null,
  words: 'Bath out of its band',
  data,
})

describe('Strip', () => {
  it('says how grave an alarm was', () => {
    const strip = new Strip()
    for (const severity of ['notice', 'warning', 'alarm']) strip.addEvent(alarm({ severity }))
    expect(strip.marks.map(({ severity }) => severity)).toEqual(['notice', 'warning', 'alarm'])
  })

  it('leaves open how grave it was where the record does not say, or says something unknown', () => {
    const strip = new Strip()
    strip.addEvent(alarm({}))
    strip.addEvent(alarm({ severity: 'grave' }))
    expect(strip.marks).toHaveLength(2)
    for (const mark of strip.marks) expect(mark).not.toHaveProperty('severity')
  })

  it('draws gaps of channels that share one outage as one', () => {
    const strip = new Strip()
    const at = 1_700_000_000_000_000
    for (const subject of ['a', 'b'])
      strip.addEvent({ ...alarm({ fromUtcUs: at - 30e6 }), kind: 'gap', subject, words: 'Silent for 30 s' })
    expect(strip.marks).toHaveLength(1)
  })

  it('joins a gap to the gap before it and leaves what lies before that alone', () => {
    const strip = new Strip()
    const at = 1_700_000_000_000_000
    const gap = (fromUtcUs: number, utcUs: number) =>
      strip.addEvent({ ...alarm({ fromUtcUs }), kind: 'gap', utcUs, words: 'Silent' })
    strip.addEvent({ ...alarm({}), kind: 'note', utcUs: at - 100e6, words: 'Stirrer looked at' })
    gap(at - 30e6, at)
    gap(at - 40e6, at + 10e6)
    gap(at + 100e6, at + 130e6)
    expect(strip.marks).toMatchObject([
      { kind: 'note', fromUtcUs: at - 100e6 },
      { kind: 'gap', fromUtcUs: at - 40e6, toUtcUs: at + 10e6 },
      { kind: 'gap', fromUtcUs: at + 100e6, toUtcUs: at + 130e6 },
    ])
  })
})

it('expects the bath at the beginning of a step, and its point just before what hands do after it', () => {
  // Ten seconds from now a step of 990 s begins: 200 s of readings, and 50 s of hands at its end.
  const step = { step: 0, celsius: 25, travelS: 300, settleS: 440, measureS: 200, actsS: 50 }
  const now = 1_700_000_000_000_000
  const marks = expectedMarks([{ ...step, startS: 10, endS: 1000 }], now)
  expect(marks.map(({ kind, fromUtcUs, toUtcUs }) => [kind, fromUtcUs - now, toUtcUs - now])).toEqual([
    ['expected-setpoint', 10e6, 10e6],
    ['expected-point', 750e6, 950e6],
  ])
})
