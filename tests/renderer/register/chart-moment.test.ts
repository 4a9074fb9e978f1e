import { describe, expect, it } from 'vitest'
import { momentOf } from '../../../renderer/register/chart-moment.ts'

const points = [
  { kind: 'wtp-before' as const, startUtcUs: 1 },
  { kind: 'comparison' as const, startUtcUs: 2 },
  { kind: 'comparison' as const, startUtcUs: 3 },
  { kind: 'wtp-after' as const, startUtcUs: 4 },
]

describe('momentOf', () => {
  it('is when R(0.01 °C) was measured last, or the first comparison of a check thermometer', () => {
    expect(momentOf('rwtp', points)).toBe(4)
    expect(momentOf('rwtp', points.slice(0, 3))).toBe(1)
    expect(momentOf('check-thermometer', points)).toBe(2)
  })

  it('is none where an entry comes from no point of its session', () => {
    expect(momentOf('resistor', points)).toBeUndefined()
    expect(momentOf('rwtp', points.slice(1, 3))).toBeUndefined()
  })
})
