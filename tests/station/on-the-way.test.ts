import { describe, expect, it } from 'vitest'
import { unpackColumns } from '../../app/contract/columns.ts'
import type { Converted } from '../../app/live/chain.ts'
import { sentenceOf } from '../../app/messages/said.ts'
import { Gaps } from '../../main/station/gaps.ts'
import { LiveRing } from '../../main/station/live-ring.ts'
import { NOTHING_DUE, PulseTaker } from '../../main/station/pulse.ts'
import type { SessionRun } from '../../main/station/session-run.ts'
import { MOST_WAITING, WaitingReadings } from '../../main/station/waiting-readings.ts'
import { BENCH, reading } from '../app/results/bench-fixture.ts'

describe('Gaps', () => {
  it('opens one for each channel at the first trouble, and closes it with how long it was and why', () => {
    const gaps = new Gaps()
    const at = (s: number) => ({ utcUs: 1e15 + s * 1e6, monoUs: s * 1e6 })
    expect(gaps.open('a', at(10), 'silent')).toBe(true)
    expect(gaps.open('a', at(20), 'garbled')).toBe(false)
    expect(gaps.open('b', at(15), 'late')).toBe(true)
    expect([gaps.size, gaps.isOpen('a'), gaps.isOpen('c')]).toEqual([2, true, false])
    expect(gaps.list().map(({ channel, cause }) => [channel, cause])).toEqual([
      ['a', 'silent'],
      ['b', 'late'],
    ])
    const told = gaps.close('a', 'Reference', at(70))!
    expect(told).toMatchObject({
      ...{ kind: 'gap', subject: 'a' },
      data: { fromUtcUs: 1e15 + 10e6, toUtcUs: 1e15 + 70e6, seconds: 60, cause: 'silent' },
    })
    expect(sentenceOf(told.said)).toMatch(/Reference.*60 s.*silent/)
    expect(gaps.close('a', 'Reference', at(80))).toBeUndefined()
    expect(gaps.size).toBe(1)
  })
})

describe('WaitingReadings', () => {
  it('gives the oldest first, and takes back before all others what could not be stored', () => {
    const waiting = new WaitingReadings()
    for (let i = 1; i <= 5; i += 1) waiting.add(reading(i, 'a', i, '1'))
    const times = (list: readonly { monoUs: number }[]) => list.map(({ monoUs }) => monoUs / 1e6)
    const taken = waiting.take(2)
    expect(times(taken)).toEqual([1, 2])
    expect(waiting.count).toBe(3)
    waiting.takeBack(taken)
    expect(times(waiting.take(9))).toEqual([1, 2, 3, 4, 5])
    expect([waiting.count, waiting.takeDropped()]).toEqual([0, undefined])
  })

  it('drops a tenth of the oldest where it is full, tells of it once, and marks where each channel goes on', () => {
    const waiting = new WaitingReadings()
    const tenth = MOST_WAITING / 10
    const add = (i: number, channel: string) => waiting.add(reading(i, channel, i, '1'))
    for (let i = 0; i < MOST_WAITING; i += 1) add(i, i === 3 ? 'rare' : i % 2 === 0 ? 'a' : 'b')
    expect(waiting.takeDropped()).toBeUndefined()
    add(MOST_WAITING, 'c')
    expect(waiting.count).toBe(MOST_WAITING - tenth + 1)
    const first = reading(0, 'a', 0, '1').utcUs
    const dropped = waiting.takeDropped()!
    expect(dropped).toEqual({
      ...{ count: tenth, fromUtcUs: first, toUtcUs: first + (tenth - 1) * 1e6 },
      channels: new Set(['a', 'b', 'rare']),
    })
    expect(waiting.takeDropped()).toBeUndefined()
    // It could not be told: what is dropped next is counted with it.
    waiting.putBack(dropped)
    for (let i = 0; i < tenth; i += 1) add(MOST_WAITING + 1 + i, 'c')
    expect(waiting.takeDropped()).toMatchObject({
      ...{ count: 2 * tenth, fromUtcUs: first, toUtcUs: first + (2 * tenth - 1) * 1e6 },
    })
    const left = waiting.take(MOST_WAITING)
    expect(left.slice(0, 4).map(({ channel, marks }) => [channel, marks])).toEqual([
      ['a', ['gap-before']],
      ['b', ['gap-before']],
      ['a', []],
      ['b', []],
    ])
    expect(left.filter(({ marks }) => marks.length > 0)).toHaveLength(2)
  })
})

describe('LiveRing', () => {
  const converted = (i: number) => ({ signal: 100 + i, celsius: i / 10 }) as Converted
  function ring(count: number, size = 8) {
    const live = new LiveRing(['a', 'b'], size)
    for (let i = 1; i <= count; i += 1) {
      const marks = i === 2 ? { marks: ['late' as const] } : {}
      live.push(reading(10 * i, i % 2 === 0 ? 'b' : 'a', i, i === 3 ? null : String(i), marks), converted(i))
    }
    const of = (after: number, backlogS: number, most: number) =>
      unpackColumns(live.after(after, backlogS, most, 's').buffer) as unknown as {
        columns: Record<string, ArrayLike<number>>
        meta: { session: string; channels: string[]; last: number }
      }
    const seqs = (...query: Parameters<typeof of>) => Array.from(of(...query).columns.seq!)
    return { live, of, seqs }
  }

  it('has nothing before the first reading, and none of a channel that it does not know', () => {
    const { live, of } = ring(0)
    expect([live.last, live.first]).toEqual([0, Number.POSITIVE_INFINITY])
    live.push(reading(1, 'other', 1, '1'), converted(1))
    expect(live.last).toBe(0)
    expect(of(0, 60, 10)).toMatchObject({ meta: { session: 's', channels: ['a', 'b'], last: 0 } })
    expect(of(7, 60, 10).meta.last).toBe(7)
  })

  it('keeps what a reading says beside what it means', () => {
    const { of, live } = ring(3)
    const { columns } = of(0, 60, 10)
    const column = (name: string) => Array.from(columns[name]!)
    expect(column('seq')).toEqual([10, 20, 30])
    expect(column('channel')).toEqual([0, 1, 0])
    expect(column('monoS')).toEqual([1, 2, 3])
    expect(column('utcS')).toEqual([1, 2, 3].map((s) => reading(1, 'a', s, '1').utcUs / 1e6))
    expect(column('raw')).toEqual([1, 2, Number.NaN])
    expect(column('resistance')).toEqual([101, 102, 103])
    expect(column('temperature')).toEqual([0.1, 0.2, 0.3])
    expect(column('marks').map((bits) => bits > 0)).toEqual([false, true, false])
    expect([live.first, live.last]).toEqual([10, 30])
  })

  it('goes on after a seq with the next ones, and begins with the newest of a backlog', () => {
    for (const count of [8, 9, 13, 16, 21]) {
      const { seqs, of, live } = ring(count)
      const kept = Array.from({ length: 8 }, (_, i) => 10 * (count - 7 + i))
      expect([live.first, live.last]).toEqual([kept[0], kept[7]])
      expect(seqs(0, 1e6, 100)).toEqual(kept)
      // The last 3 s hold four readings, one a second, both ends with them.
      expect(seqs(0, 3, 100)).toEqual(kept.slice(4))
      expect(seqs(0, 3, 2)).toEqual(kept.slice(6))
      expect(seqs(kept[1]!, 0, 3)).toEqual(kept.slice(2, 5))
      expect(of(kept[1]!, 0, 3).meta.last).toBe(kept[4])
      expect(seqs(kept[1]! + 5, 0, 100)).toEqual(kept.slice(2))
      expect(seqs(kept[7]!, 1e6, 100)).toEqual([])
      expect(seqs(1, 0, 100)).toEqual(kept)
    }
  })
})

describe('PulseTaker', () => {
  function pulse(scanEveryS: number) {
    let nowMs = 0
    const taker = new PulseTaker(() => nowMs)
    const take = (atS: number, stored: number, id = 's1', answering = true) => {
      nowMs = atS * 1000
      const bench = { ...BENCH, channels: [], scanEveryS }
      return taker.take(
        { info: { id }, recorder: { stored }, setup: { bench } } as unknown as SessionRun,
        answering,
      )
    }
    return { taker, take }
  }

  it('counts from the first reading of this life on, and from each that comes', () => {
    const { take } = pulse(1)
    expect(take(0, 500)).toEqual(NOTHING_DUE)
    expect(take(900, 500)).toEqual(NOTHING_DUE)
    expect(take(1_000, 501)).toEqual({ silentS: 0, allowedS: 120 })
    expect(take(1_090, 501)).toEqual({ silentS: 90, allowedS: 120 })
    expect(take(1_100, 502).silentS).toBe(0)
  })

  it('waits five scans where they are slow, and asks nothing without a session, without an answer and of a new one', () => {
    const { taker, take } = pulse(60)
    take(0, 0)
    expect(take(10, 1)).toEqual({ silentS: 0, allowedS: 300 })
    expect(take(20, 1, 's1', false)).toEqual(NOTHING_DUE)
    expect(take(900, 1)).toEqual(NOTHING_DUE)
    expect(take(901, 2).silentS).toBe(0)
    expect(take(950, 900, 's2')).toEqual(NOTHING_DUE)
    expect(take(960, 901, 's2').allowedS).toBe(300)
    expect(taker.take(undefined, true)).toEqual(NOTHING_DUE)
    expect(take(970, 901, 's2')).toEqual(NOTHING_DUE)
  })
})
