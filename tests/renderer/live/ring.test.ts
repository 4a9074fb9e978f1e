import { describe, expect, it } from 'vitest'
import { ReadingRing, RING_CAPACITY } from '../../../renderer/live/ring.ts'

describe('ReadingRing', () => {
  const filled = (n: number) => {
    const ring = new ReadingRing()
    for (let i = 0; i < n; i++) ring.push(i, i * 2, i * 3, i * 4, 0)
    return ring
  }

  it('keeps order while it grows and after it has wrapped', () => {
    for (const n of [1, 511, 512, 513, 5000, RING_CAPACITY, RING_CAPACITY + 777]) {
      const ring = filled(n)
      expect(ring.length).toBe(Math.min(n, RING_CAPACITY))
      expect(ring.total).toBe(n)
      const times = Array.from({ length: ring.length }, (_, i) => ring.time[ring.slot(i)]!)
      expect(times).toEqual(times.map((_, i) => n - ring.length + i))
      expect(ring.newest('temperature')).toBe((n - 1) * 4)
    }
  })

  it('finds the first reading not before a moment', () => {
    const ring = filled(RING_CAPACITY + 10)
    expect(ring.from(0)).toBe(0)
    expect(ring.from(100.5)).toBe(101 - 10)
    expect(ring.from(1e9)).toBe(ring.length)
  })

  it('goes straight between two readings, holds the newest for a while, and knows nothing before the oldest', () => {
    const ring = filled(10)
    expect(ring.valueAt('raw', 4.25)).toBeCloseTo(8.5, 12)
    expect(ring.valueAt('raw', 0)).toBe(0)
    expect(ring.valueAt('raw', 10)).toBe(18)
    expect(ring.valueAt('raw', 50)).toBeNaN()
    expect(ring.valueAt('raw', -5)).toBeNaN()
    expect(new ReadingRing().valueAt('raw', 1)).toBeNaN()
  })

  it('draws no line across a gap', () => {
    const ring = filled(10)
    for (let i = 60; i < 70; i++) ring.push(i, i, i, i, 0)
    expect(ring.valueAt('raw', 30)).toBeNaN()
    expect(ring.valueAt('raw', 9)).toBe(18)
    expect(ring.valueAt('raw', 60)).toBe(60)
    expect(ring.valueAt('raw', 62.5)).toBeCloseTo(62.5, 12)
  })
})
