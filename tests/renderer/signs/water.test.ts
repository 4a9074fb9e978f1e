import { describe, expect, it } from 'vitest'
import { WATER_STATES } from '../../../app/contract/views.ts'
import { WATER_WORDS, waterPath } from '../../../renderer/signs/water.ts'

describe('waterPath', () => {
  it('draws every state as another shape, so that colour only repeats it', () => {
    const paths = WATER_STATES.map((state) => waterPath(state, 0, 48, 14))
    expect(new Set(paths).size).toBe(WATER_STATES.length)
    expect(new Set(Object.values(WATER_WORDS)).size).toBe(WATER_STATES.length)
  })

  it('lets the ripples die down as the hold time runs out', () => {
    const height = (held: number) =>
      [...waterPath('rippled', held, 48, 14).matchAll(/q[\d.]+ (-?[\d.]+)/g)].reduce(
        (sum, m) => sum + Math.abs(Number(m[1])),
        0,
      )
    expect(height(0)).toBeGreaterThan(height(0.5))
    expect(height(0.5)).toBeGreaterThan(height(0.9))
    expect(height(1)).toBe(0)
  })
})
