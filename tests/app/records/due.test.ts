import { describe, expect, it } from 'vitest'
import { dueDates, dueWords } from '../../../app/records/due.ts'
import { Register } from '../../../app/records/register.ts'

const register = Register.parse({
  instruments: [
    { id: 'a', name: 'Bridge A', role: 'ratio-bridge', due: '2026-03-01' },
    { id: 'b', name: 'Bridge B', role: 'ratio-bridge', due: '2026-02-27' },
    { id: 'c', name: 'Bridge C', role: 'ratio-bridge' },
  ],
})

describe('dueDates', () => {
  it('counts whole days of UTC, so that the day itself is due and the day after is overdue', () => {
    const words = (today: string) =>
      dueDates(register, today).map(({ id, days }) => `${id} ${dueWords(days)}`)
    expect(words('2026-02-28')).toEqual(['b overdue by 1 day', 'a due in 1 day'])
    expect(words('2026-03-01')).toEqual(['b overdue by 2 days', 'a due today'])
    expect(words('2026-02-20')).toEqual(['b due in 7 days', 'a due in 9 days'])
  })

  it('names a bridge twice where it is calibrated and checked: what is due of each', () => {
    const check = (date: string, due: string) => ({
      id: date,
      kind: 'network' as const,
      date,
      due,
      linearityRatio: 1e-8,
      agrees: true,
      results: [{ name: 'x', value: 0, u: 0 }],
    })
    const bridge = { ...register.instruments[0]!, checks: [check('2026-01-01', '2026-07-01')] }
    expect(
      dueDates({ ...register, instruments: [bridge] }, '2026-02-01').map(({ name, due }) => [name, due]),
    ).toEqual([
      ['Bridge A', '2026-03-01'],
      ['Bridge A, check', '2026-07-01'],
    ])
  })
})
