import { describe, expect, it } from 'vitest'
import type { AlarmView } from '../../../app/contract/views.ts'
import { toBeHeard } from '../../../renderer/shell/chime.ts'

const alarm = (change: Partial<AlarmView>): AlarmView => ({
  id: 'a',
  utcUs: 0,
  severity: 'alarm',
  subject: null,
  words: 'The bath is too hot.',
  count: 1,
  active: true,
  acknowledgedBy: null,
  acknowledgedUtcUs: null,
  ...change,
})

describe('toBeHeard', () => {
  it('hears alarms and warnings that nobody has seen, and each time one comes back', () => {
    expect(toBeHeard([alarm({}), alarm({ id: 'b', severity: 'warning', count: 3 })])).toEqual(['a 1', 'b 3'])
  })

  it.each([
    ['a notice', { severity: 'notice' as const }],
    ['one that is over', { active: false }],
    ['one that somebody has seen', { acknowledgedBy: 'A. Person' }],
  ])('stays silent for %s', (_what, change) => {
    expect(toBeHeard([alarm(change)])).toEqual([])
  })
})
