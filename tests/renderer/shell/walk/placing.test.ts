import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { placeNote } from '../../../../renderer/shell/walk/placing.ts'

const ROOM = { left: 0, top: 0, width: 1000, height: 700 }
const NOTE = { width: 300, height: 150 }

describe('placeNote', () => {
  it('stands to the right of its control where there is room', () => {
    expect(placeNote(NOTE, { left: 100, top: 200, width: 80, height: 30 }, [], ROOM)).toEqual({
      ...NOTE,
      left: 194,
      top: 200,
    })
  })

  it('goes below at the right edge, and elsewhere when what is in use stands there', () => {
    const target = { left: 900, top: 100, width: 80, height: 30 }
    expect(placeNote(NOTE, target, [], ROOM)).toMatchObject({ left: 686, top: 144 })
    const used = { left: 890, top: 160, width: 100, height: 40 }
    expect(placeNote(NOTE, target, [used], ROOM)).toMatchObject({ left: 586, top: 100 })
  })

  it('goes to a corner where its control is out of sight', () => {
    expect(placeNote(NOTE, undefined, [], ROOM)).toMatchObject({ left: 14, top: 536 })
    expect(placeNote(NOTE, { left: 10, top: 2000, width: 50, height: 20 }, [], ROOM)).toMatchObject({
      top: 536,
    })
  })

  it('stays in the room and off its control wherever that stands', () => {
    const box = fc.record({
      left: fc.integer({ min: 0, max: 900 }),
      top: fc.integer({ min: 0, max: 650 }),
      width: fc.integer({ min: 10, max: 200 }),
      height: fc.integer({ min: 10, max: 120 }),
    })
    fc.assert(
      fc.property(box, fc.array(box, { maxLength: 1 }), (target, used) => {
        const at = placeNote(NOTE, target, used, ROOM)
        expect(at.left).toBeGreaterThanOrEqual(0)
        expect(at.top).toBeGreaterThanOrEqual(0)
        expect(at.left + at.width).toBeLessThanOrEqual(ROOM.width)
        expect(at.top + at.height).toBeLessThanOrEqual(ROOM.height)
        const clear =
          at.left >= target.left + target.width ||
          at.left + at.width <= target.left ||
          at.top >= target.top + target.height ||
          at.top + at.height <= target.top
        expect(clear).toBe(true)
      }),
    )
  })
})
