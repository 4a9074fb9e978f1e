import { describe, expect, it } from 'vitest'
import { monthsAfter, nextDue, proposedDue } from '../../../app/checks/next-due.ts'

describe('nextDue', () => {
  const earlier = [
    { date: '2020-03-01', due: '2022-03-01' },
    { date: '2022-03-05', due: '2023-03-05' },
    { date: '2024-01-01' },
  ]
  it('keeps what is given, and else the interval of the newest entry that had one', () => {
    expect(nextDue('2025-06-30', '2026-01-01', earlier)).toBe('2026-01-01')
    expect(nextDue('2025-06-30', undefined, earlier)).toBe('2026-06-30')
    expect(nextDue('2021-06-30', undefined, earlier)).toBe('2023-06-30')
    expect(nextDue('2025-06-30', undefined, [{ date: '2024-01-01' }])).toBeUndefined()
  })

  it('counts in days where the months are not whole', () => {
    expect(nextDue('2025-01-01', undefined, [{ date: '2024-01-01', due: '2024-01-31' }])).toBe('2025-01-31')
  })
})

describe('monthsAfter', () => {
  it('ends with the month where it has no such day', () => {
    expect(monthsAfter('2024-08-31', 6)).toBe('2025-02-28')
    expect(monthsAfter('2024-02-29', 12)).toBe('2025-02-28')
    expect(monthsAfter('2024-12-15', 1)).toBe('2025-01-15')
  })
})

describe('proposedDue', () => {
  it('proposes a year where nothing had an interval', () => {
    expect(proposedDue('2025-06-30', [])).toBe('2026-06-30')
  })
})
