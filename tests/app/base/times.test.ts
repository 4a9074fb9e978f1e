import { describe, expect, it } from 'vitest'
import {
  daysBetween,
  duration,
  utcDay,
  utcMillisecond,
  utcMinute,
  utcSecond,
  utcTime,
} from '../../../app/base/times.ts'

describe('duration', () => {
  it('names two units at most', () => {
    expect(duration(40)).toBe('40 s')
    expect(duration(840)).toBe('14 min')
    expect(duration(5 * 3600 + 720)).toBe('5 h 12 min')
    expect(duration(3 * 86_400)).toBe('3 d')
    const minutes = (n: number) => duration(60 * n)
    expect([-5, 0.4, 89.4, 89.6, 119].map(duration)).toEqual(['0 s', '0 s', '89 s', '2 min', '2 min'])
    expect([119, 120, 121, 180].map(minutes)).toEqual(['119 min', '2 h', '2 h 1 min', '3 h'])
    expect([48 * 60 - 1, 48 * 60, 49 * 60].map(minutes)).toEqual(['47 h 59 min', '2 d', '2 d 1 h'])
    expect(duration(Number.POSITIVE_INFINITY)).toBe('\u2013')
    expect(duration(Number.NaN)).toBe('\u2013')
  })
})

describe('utcTime', () => {
  it('says that it is UTC', () => {
    expect(utcTime(0)).toBe('1970-01-01 00:00:00 UTC')
    expect(utcMinute(61_000_000)).toBe('1970-01-01 00:01 UTC')
  })
})

describe('moments as text', () => {
  it('are cut, not rounded', () => {
    const us = Date.UTC(2026, 2, 12, 23, 59, 59, 999) * 1000 + 999
    expect(utcDay(us)).toBe('2026-03-12')
    expect(utcMinute(us)).toBe('2026-03-12 23:59 UTC')
    expect(utcTime(us)).toBe('2026-03-12 23:59:59 UTC')
    expect(utcSecond(us)).toBe('2026-03-12T23:59:59Z')
    expect(utcMillisecond(us)).toBe('2026-03-12T23:59:59.999Z')
  })
})

describe('daysBetween', () => {
  it('counts whole days, also back and over a leap day', () => {
    expect(daysBetween('2028-02-28', '2028-03-01')).toBe(2)
    expect(daysBetween('2026-03-01', '2026-02-27')).toBe(-2)
    expect(daysBetween('2026-03-01', '2026-03-01')).toBe(0)
  })
})
