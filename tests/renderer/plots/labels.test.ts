import { describe, expect, it } from 'vitest'
import { timeLabels, valueLabels } from '../../../renderer/plots/labels.ts'

describe('valueLabels', () => {
  it('writes as many decimals as the step needs', () => {
    expect(valueLabels([100, 100.005, 100.01])).toEqual(['100.000', '100.005', '100.010'])
    expect(valueLabels([0, 20, 40])).toEqual(['0', '20', '40'])
  })

  it('rounds no label where the step has a five in it', () => {
    expect(valueLabels([99.975, 99.9775, 99.98])).toEqual(['99.9750', '99.9775', '99.9800'])
    expect(valueLabels([0, 2.5, 5])).toEqual(['0.0', '2.5', '5.0'])
    expect(valueLabels([0, 50, 100])).toEqual(['0', '50', '100'])
  })
})

describe('timeLabels', () => {
  it('says nothing before there is a reading, however far its empty axis reaches', () => {
    const years = [0, 1, 2, 3].map((n) => n * 15_778_800)
    expect(timeLabels(years, false)).toEqual(['', '', '', ''])
    expect(timeLabels(years)).not.toContain('')
  })

  it('has seconds only where steps are shorter than a minute', () => {
    expect(timeLabels([0, 30])[1]).toMatch(/^\d\d:\d\d:30$/)
    expect(timeLabels([0, 300])[1]).toMatch(/^\d\d:05$/)
  })

  it('never says the same twice, from seconds to years', () => {
    for (const step of [1, 30, 600, 3600, 21_600, 43_200, 86_400, 30 * 86_400]) {
      const labels = timeLabels(Array.from({ length: 8 }, (_, i) => 1.7e9 + i * step))
      expect(new Set(labels).size, `steps of ${step} s`).toBe(8)
    }
  })
})
