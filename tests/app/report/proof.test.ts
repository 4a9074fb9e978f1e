import { describe, expect, it } from 'vitest'
import { compareJson, compareNumbers, comparePoints, compareReports } from '../../../app/report/proof.ts'
import { simulate } from '../../report/fixture.ts'

describe('compareJson', () => {
  it('names every place that differs, and what is on one side only', () => {
    const stored = { a: 1, b: { c: [1, 2], d: 'x' }, only: true }
    const computed = { a: 1, b: { c: [1, 3, 4], d: 'y' } }
    expect(compareJson(stored, computed)).toEqual([
      { key: 'b.c.1', stored: '2', computed: '3' },
      { key: 'b.c.2', stored: 'absent', computed: '4' },
      { key: 'b.d', stored: 'x', computed: 'y' },
      { key: 'only', stored: 'true', computed: 'absent' },
    ])
    expect(compareJson(stored, structuredClone(stored))).toEqual([])
  })

  it('tells a list from what is none, null from nothing, and zero from its negative', () => {
    expect(compareJson({ a: [1] }, { a: { 0: 1 } })).toEqual([
      { key: 'a', stored: '[1]', computed: '{"0":1}' },
    ])
    expect(compareJson({ a: null }, {})).toEqual([{ key: 'a', stored: 'null', computed: 'absent' }])
    expect(compareJson({ a: 0 }, { a: -0 })).toHaveLength(1)
    expect(compareJson(Number.NaN, Number.NaN)).toEqual([])
  })

  it('shows no more of a long text than a line', () => {
    const [found] = compareJson({ a: 'x'.repeat(120) }, { a: 'y'.repeat(121) })
    expect(found!.stored).toBe('x'.repeat(120))
    expect(found!.computed).toBe(`${'y'.repeat(120)}…`)
  })
})

describe('compareReports', () => {
  const number = (value: string, more: object = {}) => ({
    ...{ name: 'R', unit: 'Ω', value, uncertainty: '0.02', k: '2.00', exact: 25.1 },
    ...more,
  })

  it('tells the digits of a number once, and what else differs by its place', () => {
    const stored = { title: 'a', numbers: { r: number('25.10'), s: number('1.0'), t: number('3.0') } }
    const computed = {
      title: 'b',
      numbers: { r: number('25.11', { exact: 25.11 }), s: number('1.0', { unit: 'mΩ' }), t: number('3.0') },
    }
    expect(compareReports(stored, computed)).toEqual([
      { key: 'r', stored: '25.10 ± 0.02 ± 2.00', computed: '25.11 ± 0.02 ± 2.00' },
      { key: 'title', stored: 'a', computed: 'b' },
      { key: 'numbers.r.exact', stored: '25.1', computed: '25.11' },
      { key: 'numbers.s.unit', stored: 'Ω', computed: 'mΩ' },
    ])
    expect(compareReports(stored, stored)).toEqual([])
  })

  it('tells of a number that is missing, and of a report that is none', () => {
    const [found] = compareReports({ numbers: { r: number('25.10') } }, { numbers: {} })
    expect(found).toEqual({ key: 'r', stored: '25.10 ± 0.02 ± 2.00', computed: 'absent' })
    expect(compareReports({ numbers: {} }, null).length).toBeGreaterThan(0)
    expect(compareNumbers({ u: ['1', null, null] }, { u: ['1', null, '2'] })).toEqual([
      { key: 'u', stored: '1', computed: '1 ± 2' },
    ])
  })
})

describe('comparePoints', () => {
  const point = simulate().input.points.find(({ kind }) => kind === 'comparison')!
  const changed = (change: (copy: typeof point) => void) => {
    const copy = structuredClone(point)
    change(copy)
    return comparePoints(point, copy)
  }

  it('finds nothing between a point and itself, and says of one without readings that there are none', () => {
    expect(comparePoints(point, structuredClone(point))).toEqual([])
    expect(comparePoints(point, null)).toEqual([
      { key: `point.${point.id}`, stored: 'a point', computed: 'no readings' },
    ])
  })

  it.each(['rawMean', 'rawSd', 'n', 'leftOut', 'firstSeq', 'nEffective', 'uRawDriftPerS'] as const)(
    'finds a last bit of %s',
    (what) => {
      const { channel, [what]: own } = point.channels[1]!
      const moved = own === 0 ? 1 : own * (1 + 2 ** -52)
      expect(changed((p) => Object.assign(p.channels[1]!, { [what]: moved }))).toEqual([
        { key: `point.${point.id}.${channel}.${what}`, stored: String(own), computed: String(moved) },
      ])
    },
  )

  it('finds another beginning or end, and a channel that is gone', () => {
    expect(changed((p) => Object.assign(p, { endUtcUs: p.endUtcUs + 1 })).map(({ key }) => key)).toEqual([
      `point.${point.id}.endUtcUs`,
    ])
    const gone = changed((p) => Object.assign(p, { channels: p.channels.slice(1) }))
    expect(gone.length).toBeGreaterThan(10)
    for (const { key, computed } of gone) {
      expect(key.startsWith(`point.${point.id}.${point.channels[0]!.channel}.`)).toBe(true)
      expect(computed).toBe('absent')
    }
  })
})
