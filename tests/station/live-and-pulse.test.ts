import { describe, expect, it } from 'vitest'
import { unpackColumns } from '../../app/contract/columns.ts'
import type { Converted } from '../../app/live/chain.ts'
import { LiveRing } from '../../main/station/live-ring.ts'
import { NOTHING_DUE, PulseTaker } from '../../main/station/pulse.ts'
import type { SessionRun } from '../../main/station/session-run.ts'
import { BENCH, reading } from '../app/results/bench-fixture.ts'

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
