import { describe, expect, it } from 'vitest'
import type { StationState } from '../../../app/contract/views.ts'
import { endingWords, thermometerNames } from '../../../renderer/archive/archive.model.ts'
import {
  addToTrails,
  FASTEST,
  nextAfter,
  paceOf,
  SPEEDS,
  speedWords,
  type Trails,
  trailPath,
  trailSpan,
} from '../../../renderer/archive/replay.model.ts'
import { FakeStation } from '../../browser/fake/station.ts'

const station = new FakeStation({ channels: 2, rateHz: 1, scene: 'running', speed: 1 })
const whole = station.state()
const [first] = whole.channels
const at = (minute: number, celsius: number | null): StationState => ({
  ...whole,
  channels: [{ ...first!, lastUtcUs: minute * 60e6, temperature: { value: celsius, unit: 'degC', u: null } }],
})
const along = (...states: StationState[]): Trails =>
  states.reduce<Trails>((trails, state) => addToTrails(trails, state), new Map())

describe('addToTrails', () => {
  const trailOf = (trails: Trails) => trails.get(first!.id)!
  it('takes each reading once and forgets what is older than half an hour', () => {
    const trails = along(at(0, 20), at(10, 20.001), at(10, 20.001), at(39, 20.004))
    expect(trailOf(trails).map(({ utcUs }) => utcUs / 60e6)).toEqual([10, 39])
    expect(trailSpan(trailOf(trails))).toBeCloseTo(3, 6)
  })

  it('begins anew after a step back in time, and passes over what is not a number', () => {
    expect(trailOf(along(at(50, 20), at(60, 21), at(5, 22)))).toHaveLength(1)
    expect(trailOf(along(at(1, 20), at(2, null)))).toHaveLength(1)
    expect(trailSpan(trailOf(along(at(1, 20))))).toBeNull()
  })
})

describe('trailPath', () => {
  it('fills its box and is empty with less than two moments', () => {
    const path = trailPath([
      { utcUs: 0, mk: 5 },
      { utcUs: 10, mk: 9 },
    ])
    expect(path).toBe('M0.0 19.0L100.0 1.0')
    expect(trailPath([{ utcUs: 0, mk: 5 }])).toBe('')
  })
})

describe('nextAfter', () => {
  it('finds the first moment after now in any order, and none after the last', () => {
    expect(nextAfter([30, 10, 20], 10)).toBe(20)
    expect(nextAfter([30, 10], 30)).toBeUndefined()
  })
})

describe('paceOf', () => {
  it('is the time of the session by that of the wall', () => {
    expect(paceOf({ utcUs: 0, wallMs: 0 }, { utcUs: 300e6, wallMs: 1000 })).toBe(300)
    expect(paceOf({ utcUs: 0, wallMs: 5 }, { utcUs: 1, wallMs: 5 })).toBeUndefined()
  })
})

describe('speedWords', () => {
  it('says every speed of the slider, from real time to as fast as it goes', () => {
    expect(SPEEDS[0]).toBe(1)
    expect(SPEEDS.at(-1)).toBe(FASTEST)
    expect(speedWords(1)).toBe('as it was, second by second')
    expect(speedWords(300)).toBe('300 times as fast')
    expect(speedWords(FASTEST)).toBe('as fast as it goes')
  })
})

describe('thermometerNames', () => {
  it('gives names for ids, an id where there is no name, and counts the rest', () => {
    const names = new Map([['a', 'Reference SPRT']])
    expect(thermometerNames(['a', 'b'], names)).toBe('Reference SPRT, b')
    expect(thermometerNames(['a', 'b', 'c', 'd', 'e'], names)).toBe('Reference SPRT, b, c and 2 more')
  })
})

describe('endingWords', () => {
  it('puts damage before everything', () => {
    const row = { damaged: 'cannot be read', info: { ending: 'complete' } } as Parameters<
      typeof endingWords
    >[0]
    expect(endingWords(row)).toBe('cannot be read')
    expect(endingWords({ ...row, damaged: null })).toBe('complete')
  })
})
