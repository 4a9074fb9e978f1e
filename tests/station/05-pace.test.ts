import { describe, expect, it } from 'vitest'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'

describe('VirtualClock.setSpeed', () => {
  it('takes hold of what waits already, and of the time that passes from then on', async () => {
    const clock = new VirtualClock({ startUtcUs: 0, speed: 1 })
    let fired = 0
    clock.after(3_600_000, () => {
      fired = clock.now().monoUs
    })
    // The wait of an hour has begun.
    await new Promise((resolve) => setTimeout(resolve, 50))
    expect(fired).toBe(0)
    clock.setSpeed(Number.POSITIVE_INFINITY)
    await expect.poll(() => fired, { timeout: 20_000 }).toBe(3_600_000_000)
    expect(clock.speed).toBe(Number.POSITIVE_INFINITY)
    clock.stop()
  })

  it('refuses a pace that goes nowhere', () => {
    const clock = new VirtualClock({ startUtcUs: 0 })
    expect(() => clock.setSpeed(0)).toThrow(RangeError)
    expect(() => clock.setSpeed(-1)).toThrow('above 0')
    clock.stop()
  })
})
