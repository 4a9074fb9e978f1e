import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { LiveBoard } from '../../../renderer/live/board.ts'
import { newestShown, shownAt, shownInRing, shownSince } from '../../../renderer/live/shown.ts'

const board = new LiveBoard()
const at = () => 100
const temperatureLess = { shown: 'temperature', base: 'ref' } as const

/** Both drift by 10 mK a reading; the channel under test is 2 mK warmer and read half a second later. */
beforeEach(() => {
  board.clear('s')
  for (let i = 0; i < 20; i++) {
    const t = 1000 + i
    board.ring('ref').push(t, 0, 0, 100 + 0.01 * i, 0)
    board.ring('dut').push(t + 0.5, 0, 0, 100.002 + 0.01 * (i + 0.5), 0)
  }
})

describe('shownInRing', () => {
  it('takes the base off at the very moment of the reading, in millikelvin', () => {
    const ring = board.ring('dut')
    const value = shownInRing(board, ring, 'dut', temperatureLess, at)
    for (let i = 0; i < 19; i++) expect(value(ring.slot(i))).toBeCloseTo(2, 6)
  })

  it('shows the deviation from the setpoint in millikelvin', () => {
    const ring = board.ring('ref')
    const value = shownInRing(board, ring, 'ref', { shown: 'deviation', base: null }, at)
    expect(value(ring.slot(3))).toBeCloseTo(30, 6)
  })
})

describe('a channel in its own unit', () => {
  afterEach(() => {
    board.units = new Map()
  })

  it('is converted wherever it is shown, and only there', () => {
    board.units = new Map([
      ['ref', 'degF'],
      ['dut', 'K'],
    ])
    const own = { shown: 'own', base: null } as const
    // NIST SP 811:2008, B.9: 100 degC are 212 degF; 0 degC are 273.15 K (numbers from memory).
    expect(shownAt(board, 'ref', own, 1000, at)).toBeCloseTo(212, 9)
    expect(newestShown(board, 'dut', own, null)).toBeCloseTo(273.15 + 100.197, 9)
    const ring = board.ring('ref')
    expect(shownInRing(board, ring, 'ref', own, at)(ring.slot(10))).toBeCloseTo(212.18, 9)
    expect(shownAt(board, 'ref', { shown: 'temperature', base: null }, 1000, at)).toBe(100)
    // A difference of temperatures is in millikelvin in any unit.
    expect(newestShown(board, 'dut', { shown: 'own', base: 'ref' }, null)).toBeCloseTo(2, 6)
  })
})

describe('shownAt', () => {
  it('is the difference of both at that moment, and the base itself as it is', () => {
    expect(shownAt(board, 'dut', temperatureLess, 1007.25, at)).toBeCloseTo(2, 6)
    expect(shownAt(board, 'ref', temperatureLess, 1007.25, at)).toBeCloseTo(100.0725, 9)
  })
})

describe('newestShown', () => {
  it('compares at the newest moment that both have', () => {
    expect(newestShown(board, 'dut', temperatureLess, null)).toBeCloseTo(2, 6)
  })

  it('shows no difference from a base that has fallen silent', () => {
    for (let i = 20; i < 60; i++) board.ring('dut').push(1000.5 + i, 0, 0, 100, 0)
    expect(newestShown(board, 'dut', temperatureLess, null)).toBeNaN()
  })
})

describe('shownSince', () => {
  it('is where the later of channel and base begins', () => {
    expect(shownSince(board, 'dut', temperatureLess)).toBe(1000.5)
    expect(shownSince(board, 'dut', { shown: 'temperature', base: 'nobody' })).toBeNaN()
  })
})
