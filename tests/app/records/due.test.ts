import { describe, expect, it } from 'vitest'
import { daysBetween } from '../../../app/base/times.ts'
import { dueLineWords, dueName, dueWords } from '../../../app/records/due.ts'
import { RECORD_KINDS } from '../../../app/records/record-kinds.ts'
import { InstrumentRecord } from '../../../app/records/register.ts'

describe('dueWords', () => {
  it('counts whole days of UTC, so that the day itself is due and the day after is overdue', () => {
    const words = (today: string, due: string) => dueWords(daysBetween(today, due))
    expect(words('2026-02-28', '2026-02-27')).toBe('overdue by 1 day')
    expect(words('2026-02-28', '2026-03-01')).toBe('due in 1 day')
    expect(words('2026-03-01', '2026-02-27')).toBe('overdue by 2 days')
    expect(words('2026-03-01', '2026-03-01')).toBe('due today')
    expect(words('2026-02-20', '2026-02-27')).toBe('due in 7 days')
  })
})

describe('what an instrument is due for', () => {
  const check = (date: string, due: string) => ({
    ...{ id: date, kind: 'network' as const, date, due, linearityRatio: 1e-8, agrees: true },
    results: [{ name: 'x', value: 0, u: 0 }],
  })
  const bridge = (due: string | undefined, ...checks: ReturnType<typeof check>[]) => {
    const entry = InstrumentRecord.parse({ id: 'a', name: 'Bridge A', role: 'ratio-bridge', due, checks })
    const { name, due: first, facts = {} } = RECORD_KINDS.instrument.row(entry)
    const line = { name, due: first ?? null, facts }
    return [dueName(line), line.due, dueLineWords(line, '2026-02-28')]
  }

  it('is what comes first of its calibration and its check, with the other beside it', () => {
    expect(bridge('2026-03-01')).toEqual(['Bridge A', '2026-03-01', 'due in 1 day'])
    expect(bridge('2026-03-01', check('2026-01-01', '2026-07-01'))).toEqual([
      'Bridge A',
      '2026-03-01',
      'due in 1 day; its check is due on 2026-07-01',
    ])
    expect(
      bridge('2027-01-01', check('2025-01-01', '2025-07-01'), check('2026-01-01', '2026-02-27')),
    ).toEqual(['Bridge A, check', '2026-02-27', 'overdue by 1 day; its calibration is due on 2027-01-01'])
    expect(bridge(undefined)).toEqual(['Bridge A', null, ''])
  })
})
