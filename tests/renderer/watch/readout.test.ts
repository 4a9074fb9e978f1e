import { describe, expect, it } from 'vitest'
import type { ChannelView } from '../../../app/contract/views.ts'
import { readoutView, shownU } from '../../../renderer/watch/readout.model.ts'

const channel = (id: string, u: number | null) =>
  ({
    id,
    name: id.toUpperCase(),
    role: 'under-test',
    rawUnit: 'ratio',
    unit: 'degF',
    ratio: { value: 1, u: 1e-8 },
    resistance: { value: 100, u: 2e-4, unit: 'ohm' },
    temperature: { value: 20, u },
    settling: { state: 'flat', held: 1, words: 'Settled.' },
    marks: [],
  }) as unknown as ChannelView

const a = channel('a', 0.003)
const b = channel('b', 0.004)

describe('shownU', () => {
  it('is the root of the sum of squares for a difference, in the unit of the difference', () => {
    expect(shownU(b, { shown: 'temperature', base: 'a' }, a)).toBeCloseTo(5, 12)
    expect(shownU(b, { shown: 'resistance', base: 'a' }, a)).toBeCloseTo(2.828e-4, 7)
  })

  it("is the base's own for the base, and unknown where either is", () => {
    expect(shownU(a, { shown: 'temperature', base: 'a' }, a)).toBe(0.003)
    expect(shownU(b, { shown: 'temperature', base: 'x' }, channel('x', null))).toBeNull()
    expect(shownU(b, { shown: 'temperature', base: 'x' }, undefined)).toBeNull()
  })
})

describe('readoutView', () => {
  it('shows a channel in its own unit, and its uncertainty in the same', () => {
    const view = readoutView(a, { shown: 'own', base: null }, undefined, '')
    expect(view.unit).toBe('degF')
    // 3 mK are 5.4 thousandths of a degree Fahrenheit.
    expect(view.u).toBeCloseTo(0.0054, 12)
    expect(readoutView(a, { shown: 'temperature', base: null }, undefined, '').unit).toBe('degC')
  })

  it('shows a difference in millikelvin and its base in degrees', () => {
    const sight = { shown: 'temperature', base: 'a' } as const
    expect(readoutView(b, sight, a, '').unit).toBe('mK')
    expect(readoutView(a, sight, a, '').unit).toBe('degC')
  })

  it('does not repeat what the group says', () => {
    expect(readoutView(a, { shown: 'temperature', base: null }, undefined, 'Settled.').words).toBe('')
  })

  it('leaves a channel that is done to its sign, in place of the same sentence at every number', () => {
    const settling = {
      state: 'over',
      words: 'Done: measured until the session ended.',
      remainingS: null,
      held: 0,
    } as const
    const view = readoutView({ ...a, settling }, { shown: 'temperature', base: null }, undefined, 'Nothing.')
    expect([view.state, view.words]).toEqual(['over', ''])
  })
})
