import { expect, it, vi } from 'vitest'
import { ScaledClock } from '../../../main/station/clocks/scaled.ts'

it('refuses a speed at which no time passes', () => {
  for (const speed of [0, -1, Number.NaN])
    expect(() => new ScaledClock(speed)).toThrow(/speed must be above 0/)
})

it('runs as many times as fast as the wall, in what it says and in what it waits for', () => {
  vi.useFakeTimers({ toFake: ['Date', 'performance', 'setTimeout', 'clearTimeout'] })
  try {
    const clock = new ScaledClock(60)
    const began = clock.now()
    let rung = 0
    clock.after(120_000, () => {
      rung += 1
    })
    const { dispose } = clock.after(60_000, () => {
      rung += 100
    })
    dispose()
    vi.advanceTimersByTime(1_999)
    expect(rung).toBe(0)
    vi.advanceTimersByTime(1)
    expect(rung).toBe(1)
    const ended = clock.now()
    expect(ended.monoUs - began.monoUs).toBeCloseTo(120e6, -1)
    expect(ended.utcUs - began.utcUs).toBeCloseTo(120e6, -1)
  } finally {
    vi.useRealTimers()
  }
})
