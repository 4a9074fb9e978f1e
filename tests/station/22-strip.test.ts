import { describe, expect, it } from 'vitest'
import { Strip } from '../../main/station/strip.ts'

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
})
