import { describe, expect, it } from 'vitest'
import type { StripMark } from '../../../app/contract/views.ts'
import { hourMarks, stripPicture, stripStops } from '../../../renderer/signs/night.model.ts'

const mark = (
  kind: StripMark['kind'],
  from: number,
  to: number,
  celsius: number | null = null,
): StripMark => ({
  kind,
  fromUtcUs: from * 1e6,
  toUtcUs: to * 1e6,
  words: `${kind} at ${from}`,
  celsius,
})

describe('stripPicture', () => {
  it('is nothing before a session', () => {
    expect(stripPicture([], null, null, 0)).toBeUndefined()
  })

  it('keeps a setpoint in force until the next one, though its mark is a moment', () => {
    const picture = stripPicture(
      [mark('setpoint', 0, 0, 0), mark('expected-setpoint', 500, 500, 100)],
      0,
      1000e6,
      250e6,
    )!
    expect(picture.steps.map(({ from, to, expected }) => [from, to, expected])).toEqual([
      [0, 50, false],
      [50, 100, true],
    ])
    expect(picture.now).toBe(25)
    expect(picture.steps[0]!.y).toBeGreaterThan(picture.steps[1]!.y)
  })

  it('draws the same setpoint said again as one step', () => {
    const picture = stripPicture([mark('setpoint', 0, 0, 15), mark('setpoint', 5, 5, 15)], 0, 100e6, 10e6)!
    expect(picture.steps).toHaveLength(1)
  })

  it('stops at every mark in order, but not at what is still expected', () => {
    const picture = stripPicture(
      [mark('setpoint', 0, 400, 0), mark('point', 300, 400, 0), mark('expected-point', 800, 900, 100)],
      0,
      1000e6,
      500e6,
    )!
    expect(stripStops(picture).map(({ at }) => at)).toEqual([0, 35, 50])
  })
})

describe('the signs of alarms', () => {
  it('tell a notice, a warning and an alarm apart', () => {
    const alarm = mark('alarm', 200, 200)
    const signs = stripPicture(
      [
        { ...alarm, severity: 'notice' },
        { ...alarm, severity: 'warning' },
        { ...alarm, severity: 'alarm' },
        alarm,
      ],
      0,
      null,
      500e6,
    )!.signs
    expect(signs.map(({ kind, isWarning }) => [kind, isWarning])).toEqual([
      ['note', false],
      ['alarm', true],
      ['alarm', false],
      ['alarm', false],
    ])
  })
})

describe('the times along a strip', () => {
  it.each([0.1, 3, 12, 30, 24 * 14])('never say the same twice in %s hours', (hours) => {
    const begin = Date.UTC(2026, 2, 12, 17, 30) * 1000
    const words = stripPicture([], begin, begin + hours * 3600e6, begin)!.hours.map((hour) => hour.words)
    expect(words.length).toBeGreaterThan(1)
    expect(new Set(words).size).toBe(words.length)
  })
})

describe('hourMarks', () => {
  it('gives at most about ten whole local times', () => {
    for (const hours of [0.1, 1, 5, 12, 72]) {
      const marks = hourMarks(1_700_000_123e6, 1_700_000_123e6 + hours * 3600e6)
      expect(marks.length).toBeLessThanOrEqual(10)
      for (const at of marks) expect(new Date(at / 1000).getSeconds()).toBe(0)
    }
  })
})
