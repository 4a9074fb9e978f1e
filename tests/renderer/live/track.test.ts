import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { less, reachOf, valueOn } from '../../../renderer/live/track.ts'

const track = (points: [number, number][]) => ({
  t: Float64Array.from(points, ([t]) => t),
  v: Float64Array.from(points, ([, v]) => v),
})
const line = (from: number, to: number, step: number, value: (t: number) => number) =>
  track(
    Array.from({ length: Math.floor((to - from) / step) + 1 }, (_, i) => [
      from + i * step,
      value(from + i * step),
    ]),
  )

describe('valueOn', () => {
  it('goes straight between neighbours and ends where the track ends', () => {
    const slope = line(0, 10, 2, (t) => 3 * t)
    expect(valueOn(slope, 5)).toBeCloseTo(15, 12)
    expect(valueOn(slope, 10)).toBe(30)
    expect(valueOn(slope, 10.1)).toBeNaN()
    expect(valueOn(slope, -0.1)).toBeNaN()
  })

  it('has nothing to say inside a gap', () => {
    const broken = track([
      ...Array.from({ length: 5 }, (_, i): [number, number] => [i, 1]),
      [100, 1],
      [101, 1],
    ])
    expect(valueOn(broken, 50)).toBeNaN()
    expect(valueOn(broken, 100.5)).toBe(1)
  })
})

describe('reachOf', () => {
  it('is a few of the usual steps, and endless while no step is known', () => {
    expect(reachOf([0, 10, 20, 30])).toBeCloseTo(40.5, 9)
    expect(reachOf([5])).toBe(Number.POSITIVE_INFINITY)
  })
})

describe('less', () => {
  it('takes a drift that both share off wholly, whatever the moments each was read at', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1, max: 1, noNaN: true }),
        fc.double({ min: 0.1, max: 5, noNaN: true }),
        (drift, phase) => {
          const base = line(0, 100, 5, (t) => drift * t)
          const own = line(phase, 95, 5, (t) => drift * t + 0.25)
          const { t, v } = less(own, base, 1000)
          expect(t.length).toBe(own.t.length)
          for (const value of v) expect(value).toBeCloseTo(250, 6)
        },
      ),
    )
  })

  it('leaves nothing where the base was silent', () => {
    const base = track([...Array.from({ length: 5 }, (_, i): [number, number] => [i, 0]), [100, 0], [101, 0]])
    const own = line(0, 101, 1, () => 1)
    expect([...less(own, base, 1).t]).toEqual([0, 1, 2, 3, 4, 100, 101])
  })
})
