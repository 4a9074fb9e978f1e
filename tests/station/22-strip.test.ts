import { describe, expect, it } from 'vitest'
import { expectedMarks, Strip } from '../../main/station/strip.ts'
import { examplePoint } from '../store/example-data.ts'

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

  it('joins gaps up to a minute apart, and no further', () => {
    const strip = new Strip()
    const gap = (fromS: number, toS: number) =>
      strip.addEvent({ ...alarm({ fromUtcUs: fromS * 1e6 }), kind: 'gap', utcUs: toS * 1e6, words: 'Silent' })
    gap(100, 200)
    gap(260, 300)
    gap(361, 400)
    strip.addEvent({ ...alarm({}), kind: 'gap', utcUs: 900e6, words: 'Silent since nobody knows when' })
    expect(strip.marks.map(({ fromUtcUs, toUtcUs }) => [fromUtcUs / 1e6, toUtcUs / 1e6])).toEqual([
      [100, 300],
      [361, 400],
      [900, 900],
    ])
  })

  it('has setpoints and settling with their temperature, points from their start to their end, and nothing of a plan’s steps', () => {
    const strip = new Strip()
    const event = (kind: 'setpoint' | 'settled' | 'plan-step', data: object) =>
      strip.addEvent({ ...alarm({ ...data }), kind, utcUs: 5, words: kind })
    event('setpoint', { celsius: 25 })
    event('settled', {})
    event('plan-step', { celsius: 25 })
    strip.addPoint(examplePoint)
    strip.addPoint({ ...examplePoint, marks: ['not settled', 'late'] })
    const { startUtcUs, endUtcUs } = examplePoint
    expect(strip.marks).toEqual([
      { kind: 'setpoint', fromUtcUs: 5, toUtcUs: 5, words: 'setpoint', celsius: 25 },
      { kind: 'settled', fromUtcUs: 5, toUtcUs: 5, words: 'settled', celsius: null },
      { kind: 'point', fromUtcUs: startUtcUs, toUtcUs: endUtcUs, words: 'Point at 25 °C', celsius: 25 },
      {
        ...{ kind: 'point', fromUtcUs: startUtcUs, toUtcUs: endUtcUs, celsius: 25 },
        words: 'Point at 25 °C, marked: not settled; late',
      },
    ])
  })

  it('keeps the newest thousand marks', () => {
    const strip = new Strip()
    for (let i = 0; i < 1_005; i += 1) strip.addEvent({ ...alarm({}), kind: 'note', utcUs: i })
    expect([strip.marks.length, strip.marks[0]!.fromUtcUs, strip.marks.at(-1)!.fromUtcUs]).toEqual([
      1_000, 5, 1_004,
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
