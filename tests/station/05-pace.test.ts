import { describe, expect, it } from 'vitest'
import { FreightBook } from '../../main/station/clocks/freight-book.ts'
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

describe('VirtualClock.freight', () => {
  it('holds time while bytes are on their way through another process, however long that takes it', async () => {
    const clock = new VirtualClock({ startUtcUs: 0 })
    const { freight } = clock
    let fired = false
    freight.join('cable')
    freight.left('cable', 'instrument', 3)
    clock.after(500, () => {
      fired = true
    })
    await new Promise((resolve) => setTimeout(resolve, 100))
    freight.came('cable', 'instrument', 2)
    await new Promise((resolve) => setTimeout(resolve, 100))
    expect(fired).toBe(false)
    freight.came('cable', 'instrument', 1)
    await expect.poll(() => fired, { timeout: 20_000 }).toBe(true)
    clock.stop()
  })

  it('waits for nothing of a line that nobody holds, and gives up what never comes', async () => {
    const book = new FreightBook(() => {}, 50)
    book.left('nobody', 'station', 5)
    expect(book.waitMs()).toBe(0)
    book.join('cable')
    book.left('cable', 'station', 5)
    expect(book.waitMs()).toBeGreaterThan(0)
    await expect.poll(() => book.waitMs(), { timeout: 20_000 }).toBe(0)
    book.left('cable', 'station', 5)
    book.leave('cable')
    expect(book.waitMs()).toBe(0)
  })
})
