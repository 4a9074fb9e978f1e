import { describe, expect, it } from 'vitest'
import { duration, utcTime } from '../../../app/base/times.ts'

describe('duration', () => {
  it('names two units at most', () => {
    expect(duration(40)).toBe('40 s')
    expect(duration(840)).toBe('14 min')
    expect(duration(5 * 3600 + 720)).toBe('5 h 12 min')
    expect(duration(3 * 86_400)).toBe('3 d')
    expect(duration(Number.NaN)).toBe('\u2013')
  })
})

describe('utcTime', () => {
  it('says that it is UTC', () => {
    expect(utcTime(0)).toBe('1970-01-01 00:00:00 UTC')
  })
})
