import { describe, expect, it } from 'vitest'
import { analyse } from '../../../app/results/analysis.ts'
import { movedResults } from '../../../app/results/moved-results.ts'
import { simulate } from '../../report/fixture.ts'

describe('movedResults', () => {
  const { input } = simulate({ setpoints: [0, 50, 100] })
  const first = analyse(input)

  it('finds nothing between a session and itself, by name and over the range', () => {
    const moved = movedResults(first, analyse(input))
    expect(moved.length).toBe(first.thermometers.filter(({ fit }) => fit).length)
    for (const { name, points } of moved) {
      expect(name).not.toBe('')
      expect(points).toHaveLength(5)
      for (const { differenceMk, expandedMk, agrees } of points) {
        expect(Math.abs(differenceMk)).toBeLessThan(1e-6)
        expect(expandedMk).toBeGreaterThan(0)
        expect(agrees).toBe(true)
      }
    }
  })

  it('says by how many millikelvin a result moved, with its sign, the largest first', () => {
    const one = first.thermometers.findLast(({ fit }) => fit)!
    const { prepared } = one.fit!
    // A signal that is less by what 20 mK are worth reads as 20 mK more.
    const lower = {
      ...prepared,
      toSignal: (celsius: number) => {
        const at = prepared.toSignal(celsius)
        return { ...at, value: at.value - 0.02 * at.dValueDInput }
      },
    }
    const second = {
      ...first,
      thermometers: first.thermometers.map((t) =>
        t === one ? { ...t, fit: { ...one.fit!, prepared: lower } } : t,
      ),
    }
    const [largest] = movedResults(first, second)
    expect(largest!.thermometer).toBe(one.record.thermometer.id)
    for (const { differenceMk } of largest!.points) expect(differenceMk).toBeCloseTo(20, 6)
  })
})
