import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { BucketLane, bucketWidth, type Plotted } from '../../../renderer/live/buckets.ts'
import { ReadingRing } from '../../../renderer/live/ring.ts'

const drawn = (lane: BucketLane, count: number): Plotted => {
  const out: Plotted = Array.from({ length: count * 2 }, () => undefined)
  lane.writeTo(out)
  return out
}

describe('BucketLane', () => {
  it('keeps both extremes of every bucket, whatever the readings', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 1, maxLength: 200 }),
        (values) => {
          const lane = new BucketLane(10)
          lane.clear(0)
          for (const [i, value] of values.entries()) lane.add((i / values.length) * 10, value, 1)
          const out = drawn(lane, 10)
          for (let b = 0; b < 10; b++) {
            const inside = values.filter((_, i) => Math.floor((i / values.length) * 10) === b)
            const shown = out.slice(b * 2, b * 2 + 2).filter((v): v is number => typeof v === 'number')
            if (inside.length === 0) expect(shown).toEqual([])
            else {
              expect(Math.min(...shown)).toBe(Math.min(...inside))
              expect(Math.max(...shown)).toBe(Math.max(...inside))
            }
          }
        },
      ),
    )
  })

  it('draws the extreme first that came first', () => {
    const lane = new BucketLane(2)
    lane.clear(0)
    lane.add(0.1, 5, 1)
    lane.add(0.2, 1, 1)
    lane.add(1.1, 1, 1)
    lane.add(1.2, 5, 1)
    expect(drawn(lane, 2)).toEqual([5, 1, 1, 5])
  })

  it('breaks the line at a gap and not between slow readings', () => {
    const lane = new BucketLane(100)
    lane.clear(0)
    for (let t = 0; t < 20; t += 5) lane.add(t, 1, 1)
    for (let t = 70; t < 90; t += 5) lane.add(t, 1, 1)
    const out = drawn(lane, 100)
    expect(out.slice(0, 32)).not.toContain(null)
    expect(out[139]).toBeNull()
  })

  it('joins the readings of an instrument that has become slow, after the first few', () => {
    const lane = new BucketLane(1000)
    lane.clear(0)
    for (let t = 0; t < 20; t += 1) lane.add(t, 1, 1)
    for (let t = 40; t < 1000; t += 20) lane.add(t, 1, 1)
    const out = drawn(lane, 1000)
    expect(out.slice(0, 600)).toContain(null)
    expect(out.slice(600)).not.toContain(null)
  })

  it('leaves readings later than asked for until they are asked for', () => {
    const ring = new ReadingRing()
    const lane = new BucketLane(10)
    lane.clear(0)
    for (let t = 0; t < 6; t++) ring.push(t, t, t, t, 0)
    const value = (slot: number) => ring.raw[slot]!
    lane.follow(ring, 1, value, 3)
    expect(drawn(lane, 10).filter((v) => typeof v === 'number')).toEqual([0, 1, 2, 3])
    lane.follow(ring, 1, value, 9)
    expect(drawn(lane, 10).filter((v) => typeof v === 'number')).toEqual([0, 1, 2, 3, 4, 5])
  })

  it('forgets what slides out and takes only new readings from a ring', () => {
    const ring = new ReadingRing()
    const lane = new BucketLane(4)
    lane.clear(0)
    for (let t = 0; t < 4; t++) ring.push(t, t, t, t, 0)
    lane.follow(ring, 1, (slot) => ring.raw[slot]!)
    lane.slideTo(2)
    ring.push(4, 40, 40, 40, 0)
    lane.follow(ring, 1, (slot) => ring.raw[slot]!)
    expect(drawn(lane, 4).filter((v) => typeof v === 'number')).toEqual([2, 3, 40])
  })

  it('leaves a reading without a number out', () => {
    const lane = new BucketLane(2)
    lane.clear(0)
    lane.add(0.5, Number.NaN, 1)
    expect(drawn(lane, 2)).toEqual([undefined, undefined, undefined, undefined])
  })
})

describe('bucketWidth', () => {
  it('is a plain width and never needs more buckets than there are', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.5, max: 1e6, noNaN: true }), (span) => {
        const width = bucketWidth(span, 498)
        expect(span / width).toBeLessThanOrEqual(498 * (1 + 1e-9))
        const mantissa = width / 10 ** Math.floor(Math.log10(width) + 1e-9)
        expect([1, 2, 5, 10].some((step) => Math.abs(mantissa - step) < 1e-6)).toBe(true)
      }),
    )
  })
})
