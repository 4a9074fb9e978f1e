import { describe, expect, it } from 'vitest'
import {
  chosenOf,
  crowd,
  FIRST_CHOICE,
  panesOf,
  setpointAt,
  watchReduce,
  windowOf,
} from '../../../renderer/watch/watch.model.ts'

const read = { rawUnit: 'ratio', unit: 'degC', resistance: { unit: 'ohm' } } as const
const channels = [
  { id: 'a', name: 'A', role: 'reference' as const, ...read },
  { id: 'b', name: 'B', role: 'under-test' as const, ...read },
  { id: 'c', name: 'C', role: 'under-test' as const, ...read },
]

describe('watchReduce', () => {
  it('never looks past the newest reading and keeps the span', () => {
    const held = watchReduce(FIRST_CHOICE, { do: 'hold', window: { from: 950, to: 1150 }, newest: 1000 })
    expect(windowOf(held, 5000)).toEqual({ from: 800, to: 1000 })
    const moved = watchReduce(held, { do: 'move', part: -0.5, newest: 1000 })
    expect(moved.held).toEqual({ from: 700, to: 900 })
  })

  it('follows again with the span it had', () => {
    const held = watchReduce(FIRST_CHOICE, { do: 'hold', window: { from: 0, to: 60 }, newest: 1000 })
    const again = watchReduce(held, { do: 'follow' })
    expect(windowOf(again, 2000)).toEqual({ from: 1940, to: 2000 })
  })

  it('has two cursors and begins anew with a third', () => {
    const place = (c: typeof FIRST_CHOICE, time: number) => watchReduce(c, { do: 'cursor', time })
    expect(place(place(FIRST_CHOICE, 1), 2).cursors).toEqual([1, 2])
    expect(place(place(place(FIRST_CHOICE, 1), 2), 3).cursors).toEqual([3])
  })
})

describe('panesOf', () => {
  it('keeps every channel its look, whoever is hidden', () => {
    const panes = panesOf(channels, { ...FIRST_CHOICE, hidden: ['a'] })
    expect(panes[0]!.spec.lines.map(({ channel, look }) => [channel, look])).toEqual([
      ['b', 1],
      ['c', 2],
    ])
  })

  it('divides by role or one each, and has nothing to show when all are hidden', () => {
    expect(panesOf(channels, { ...FIRST_CHOICE, arrange: 'role' }).map((p) => p.title)).toEqual([
      'Reference',
      'Under test',
    ])
    expect(panesOf(channels, { ...FIRST_CHOICE, arrange: 'each' })).toHaveLength(3)
    expect(panesOf(channels, { ...FIRST_CHOICE, hidden: ['a', 'b', 'c'] })).toEqual([])
  })
})

describe('panesOf in own units', () => {
  it('gives each unit a plot of its own, and says what it is', () => {
    const mixed = [
      ...channels,
      { id: 'd', name: 'D', role: 'under-test' as const, ...read, unit: 'degF' as const },
      { id: 'e', name: 'E', role: 'under-test' as const, ...read, unit: 'ohm' as const },
    ]
    const panes = panesOf(mixed, FIRST_CHOICE)
    expect(
      panes.map(({ title, spec }) => [title, spec.unit, spec.lines.map(({ channel }) => channel)]),
    ).toEqual([
      ['Temperature', 'degC', ['a', 'b', 'c']],
      ['Temperature', 'degF', ['d']],
      ['Resistance', 'ohm', ['e']],
    ])
    expect(new Set(panes.map(({ id }) => id)).size).toBe(3)
    // Asked for a quantity, all of them have one unit.
    expect(panesOf(mixed, { ...FIRST_CHOICE, shown: 'temperature' })).toHaveLength(1)
  })
})

describe('one channel alone', () => {
  it('has the plot for itself, keeps its look, and gives way when it is gone from the bench', () => {
    const choice = watchReduce(FIRST_CHOICE, { do: 'one', channel: 'b' })
    expect(panesOf(channels, choice).flatMap(({ spec }) => spec.lines)).toMatchObject([
      { channel: 'b', look: 1 },
    ])
    expect(chosenOf(channels, choice).map(({ id }) => id)).toEqual(['b'])
    expect(chosenOf(channels, { one: 'gone' })).toHaveLength(3)
    // Also one that was taken out of the plot of all.
    expect(panesOf(channels, { ...choice, hidden: ['b'] })).toHaveLength(1)
  })
})

describe('panesOf with a base', () => {
  it('leaves the base out of its own differences and shows these in millikelvin', () => {
    const [pane] = panesOf(channels, { ...FIRST_CHOICE, base: 'a' })
    expect(pane!.spec.lines.map(({ channel }) => channel)).toEqual(['b', 'c'])
    expect(pane!.spec.unit).toBe('mK')
    const [resistance] = panesOf(channels, { ...FIRST_CHOICE, base: 'a', shown: 'resistance' })
    expect(resistance!.spec.unit).toBe('ohm')
  })
})

describe('setpointAt', () => {
  it('is the newest setpoint not after the moment', () => {
    const mark = (fromS: number, celsius: number) => ({
      kind: 'setpoint' as const,
      fromUtcUs: fromS * 1e6,
      toUtcUs: 0,
      words: '',
      celsius,
    })
    const strip = [mark(0, 10), mark(100, 20)]
    expect(setpointAt(strip, 99)).toBe(10)
    expect(setpointAt(strip, 100)).toBe(20)
    expect(setpointAt([], 5)).toBeNaN()
  })
})

describe('crowd', () => {
  it('makes numbers smaller as channels grow many', () => {
    expect([1, 6, 16, 96].map(crowd)).toEqual(['one', 'few', 'some', 'many'])
  })
})
