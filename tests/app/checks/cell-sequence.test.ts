import { describe, expect, it } from 'vitest'
import { readSequence, sequenceState, type TakenPlateau } from '../../../app/checks/cell-sequence.ts'

describe('readSequence', () => {
  it('reads it as it is written on the sheet', () => {
    expect(readSequence('WTP, Zn, wtp  sn > WTP')).toEqual(['H2O', 'Zn', 'H2O', 'Sn', 'H2O'])
  })

  it('refuses what is no cell, and a sequence without water at both ends', () => {
    expect(() => readSequence('WTP, Pb, WTP')).toThrow(/"Pb" is no fixed point/)
    expect(() => readSequence('Zn, WTP')).toThrow(/begins and ends with the water triple point/)
    expect(() => readSequence('')).toThrow(/begins and ends/)
  })
})

describe('sequenceState', () => {
  const order = readSequence('WTP, Zn, WTP, Sn, WTP')
  const took = (fixedPoint: TakenPlateau['fixedPoint'], hour: number, mk = 0): TakenPlateau => ({
    fixedPoint,
    utcMs: hour * 3.6e6,
    ohm: 25.5 * (1 + 3.9885e-3 * mk * 1e-3),
    ownUMk: 0.03,
  })
  const states = (taken: readonly TakenPlateau[]) =>
    sequenceState(order, taken).steps.map(({ state }) => state)

  it('knows which step is next', () => {
    expect(states([])).toEqual(['next', 'later', 'later', 'later', 'later'])
    expect(sequenceState(order, []).words).toMatch(/^Next: the water triple point/)
    expect(sequenceState(order, [took('H2O', 0), took('Zn', 6)]).words).toMatch(
      /^Next: the water triple point/,
    )
    expect(states([took('H2O', 0), took('Zn', 6), took('H2O', 9)])).toEqual([
      'taken',
      'taken',
      'taken',
      'next',
      'later',
    ])
  })

  it('looks at R(0.01 °C) between, and asks for water again where it moved', () => {
    const good = sequenceState(order, [took('H2O', 0), took('Zn', 6), took('H2O', 9, 0.05)])
    expect(good.steps[2]!.moved).toMatchObject({ agrees: true })
    expect(good.steps[2]!.moved!.mk).toBeCloseTo(0.05, 6)
    const moved = sequenceState(order, [took('H2O', 0), took('Zn', 6), took('H2O', 9, 0.4)])
    expect(moved.words).toMatch(
      /moved by 0\.40 mK, U 0\.08 mK\. Take the water triple point again.*Next: the Sn cell/,
    )
  })

  it('takes the newer of a step that was repeated, and leaves aside what is out of order', () => {
    const taken = [took('H2O', 0), took('Zn', 6), took('H2O', 9, 0.4), took('H2O', 12, 0.02), took('Ga', 14)]
    const { steps, done } = sequenceState(order, taken)
    expect(steps[2]).toMatchObject({ plateau: 3, moved: { agrees: true } })
    expect(done).toBe(false)
    expect(steps.filter(({ state }) => state === 'taken')).toHaveLength(3)
  })

  it('is done with the last water', () => {
    const all = [took('H2O', 0), took('Zn', 6), took('H2O', 9), took('Sn', 12), took('H2O', 16)]
    expect(sequenceState(order, all)).toMatchObject({ done: true })
    expect(sequenceState(order, all).words).toMatch(/complete/)
  })
})
