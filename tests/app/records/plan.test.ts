import { describe, expect, it } from 'vitest'
import { SettlingRule } from '../../../app/records/plan.ts'

describe('SettlingRule', () => {
  const rule = { windowS: 300, driftMkPerMin: 0.1, spreadMk: 0.5, bandK: 0.2, holdS: 0 }
  const takes = (more: object) => SettlingRule.safeParse({ ...rule, ...more }).success

  it('has a fixed window, a bound of 95 % and every channel, unless told', () => {
    expect(SettlingRule.parse(rule)).toEqual({ ...rule, confidence: 0.95, channels: [], adaptive: 1 })
  })

  it('lets a window grow and not shrink, and a confidence be one that favours settled', () => {
    expect(takes({ adaptive: 1 })).toBe(true)
    expect(takes({ adaptive: 1.5 })).toBe(true)
    expect(takes({ adaptive: 0.99 })).toBe(false)
    expect(takes({ confidence: 0.51 })).toBe(true)
    expect(takes({ confidence: 0.5 })).toBe(false)
    expect(takes({ confidence: 0.999 })).toBe(true)
    expect(takes({ confidence: 1 })).toBe(false)
  })

  it.each(['windowS', 'driftMkPerMin', 'spreadMk', 'bandK'])('takes no %s of nothing', (key) => {
    expect(takes({ [key]: 0 })).toBe(false)
    expect(takes({ [key]: 0.001 })).toBe(true)
  })

  it('takes a hold of nothing, and none before it began', () => {
    expect(takes({ holdS: 0 })).toBe(true)
    expect(takes({ holdS: -1 })).toBe(false)
  })
})
