import { describe, expect, it } from 'vitest'
import { FreightBook } from '../../../main/station/clocks/freight-book.ts'

describe('FreightBook', () => {
  const book = (lostMs = 60_000) => {
    let moved = 0
    const freight = new FreightBook(() => moved++, lostMs)
    freight.join('a')
    return { freight, moved: () => moved }
  }

  it('waits for nothing while nothing is on its way, also right after something came', () => {
    const { freight } = book()
    expect(freight.waitMs()).toBe(0)
    freight.left('a', 'station', 3)
    expect(freight.waitMs()).toBeGreaterThan(0)
    freight.came('a', 'station', 3)
    expect(freight.waitMs()).toBe(0)
  })

  it('waits while a part is still on its way, toward either end', () => {
    const { freight } = book()
    freight.left('a', 'instrument', 3)
    freight.came('a', 'instrument', 2)
    expect(freight.waitMs()).toBeGreaterThan(0)
    freight.came('a', 'instrument', 1)
    expect(freight.waitMs()).toBe(0)
  })

  it('takes no more as come than what left', () => {
    const { freight } = book()
    freight.left('a', 'instrument', 1)
    freight.came('a', 'instrument', 5)
    freight.left('a', 'instrument', 2)
    expect(freight.waitMs()).toBeGreaterThan(0)
  })

  it('gives up what did not come in its time, for good', async () => {
    const { freight } = book(5)
    freight.left('a', 'station', 1)
    await expect.poll(() => freight.waitMs()).toBe(0)
    const again = book()
    again.freight.left('a', 'station', 1)
    expect(again.freight.waitMs()).toBeGreaterThan(59_000)
    expect(again.freight.waitMs()).toBeLessThanOrEqual(60_000)
  })

  it('tells whenever something came or a line was left, and of no other line', () => {
    const { freight, moved } = book()
    freight.left('a', 'station', 1)
    expect(moved()).toBe(0)
    freight.came('a', 'station', 1)
    freight.came('b', 'station', 1)
    expect(moved()).toBe(1)
    freight.leave('a')
    freight.leave('a')
    expect(moved()).toBe(2)
    freight.left('a', 'station', 1)
    expect(freight.waitMs()).toBe(0)
  })
})
