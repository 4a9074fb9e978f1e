import { describe, expect, it } from 'vitest'
import type { LeftOut } from '../../../app/results/analysis-input.ts'
import { decisionWords, withDecisions } from '../../../renderer/points/decided.model.ts'
import { isLeftOut } from '../../../renderer/points/points.model.ts'
import { FakeStation } from '../../browser/fake/station.ts'

const station = new FakeStation({ channels: 3, rateHz: 1, scene: 'ready', speed: 1 })
station.begin(station.plans[0]!, 'x', '', 10 * 3600)
const points = station.points()
const [first, second, third] = points
const out = (point: string, channel: string | null, why = 'the lid was open'): LeftOut => ({
  point,
  channel,
  who: 'M. Tarn',
  why,
  utcUs: 0,
})

describe('withDecisions', () => {
  const decided = withDecisions(points, [out(first!.id, null), out(second!.id, 'ch-2')])
  it('marks a point, or one channel of it, that a person left out, once', () => {
    expect(isLeftOut(decided[0]!.marks)).toBe(true)
    expect(withDecisions(decided, [out(first!.id, null)])[0]!.marks).toEqual(decided[0]!.marks)
    expect(isLeftOut(decided[1]!.marks)).toBe(false)
    const marks = decided[1]!.channels.map((used) => [used.channel, isLeftOut(used.marks)])
    expect(Object.fromEntries(marks)).toEqual({ 'ch-1': false, 'ch-2': true, 'ch-3': false })
  })

  it('leaves every other point the very object it was', () => {
    expect(decided[2]).toBe(third)
  })
})

describe('decisionWords', () => {
  it('says who left out what, and why', () => {
    const all = [out('p', null), out('p', 'ch-2', ''), out('q', null)]
    expect(decisionWords('p', all, (id) => `channel ${id}`)).toEqual([
      'left out by M. Tarn: the lid was open',
      'channel ch-2 left out by M. Tarn',
    ])
  })
})
