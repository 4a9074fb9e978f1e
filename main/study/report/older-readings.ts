import { at, last as lastOf } from '../../../app/base/lists.ts'
import type { Chain } from '../../../app/live/chain.ts'
import { buildPoint, type PointHead } from '../../../app/live/point.ts'
import type { Bench, Channel } from '../../../app/records/bench.ts'
import type { Point, PointChannel, PointReadings } from '../../../app/records/point.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { SessionFile } from '../../store/session-file.ts'
import { olderPairs } from './older-pairs.ts'
import { readingsIn } from './point-readings.ts'

/** How far around a point's own readings those are looked for that it left out, seqs. */
const AROUND = 20_000
/** What a channel's own readings alone decide. */
const OWN = ['firstSeq', 'lastSeq', 'n', 'leftOut', 'rawMean', 'rawSd', 'nEffective', 'rawDriftPerS'] as const

/** Which readings made a point, and what of that cannot be told for certain. */
export interface MadeOf {
  readonly lists: readonly PointReadings[]
  /** Channels of which the session does not say it, and no choice gives back what was stored. */
  readonly doubtful: readonly string[]
}

/**
 * The readings of a point that does not name them: those from the first to the last that counted, and before and after
 * as many of those left out as give back exactly what was stored. Pairs are found likewise. Where no choice does, the
 * channel is doubtful: made again, its numbers may differ.
 */
export function olderReadings(
  session: SessionFile,
  point: Point,
  chains: ReadonlyMap<string, Chain>,
): MadeOf {
  const { bench } = session.setup
  const lists: PointReadings[] = []
  const doubtful: string[] = []
  for (const stored of point.channels) {
    const channel = bench.channels.find((c) => c.id === stored.channel)
    if (!channel) continue
    const { list, certain } = orderOf(session, point, stored, channel, chains)
    lists.push(list)
    if (!certain) doubtful.push(stored.channel)
  }
  const own = readingsIn(session, lists, 'order')
  const pairs = olderPairs(session, point, own, chains)
  for (const { channel, selfHeatingMk } of point.channels) {
    if (selfHeatingMk === null) continue
    const found = pairs.get(channel)
    if (found) lists.push(listOf(bench.channels.find((c) => c.id === channel)!, 'pair', found))
    else if (!doubtful.includes(channel)) doubtful.push(channel)
  }
  return { lists, doubtful }
}

function listOf(channel: Channel, part: PointReadings['part'], readings: readonly Reading[]): PointReadings {
  const [first, last] = [at(readings, 0), lastOf(readings)]
  return { channel: channel.id, lane: channel.instrument, part, fromSeq: first.seq, toSeq: last.seq }
}

function orderOf(
  session: SessionFile,
  point: Point,
  stored: PointChannel,
  channel: Channel,
  chains: ReadonlyMap<string, Chain>,
): { list: PointReadings; certain: boolean } {
  const near = session.readings({
    channel: channel.id,
    fromSeq: Math.max(1, stored.firstSeq - AROUND),
    toSeq: stored.lastSeq + AROUND,
    most: 2 * AROUND + stored.lastSeq - stored.firstSeq + 1,
  })
  const offered = near.filter((r) => !r.marks.includes('settling-discarded'))
  const first = offered.findIndex((r) => r.seq === stored.firstSeq)
  const last = offered.findIndex((r) => r.seq === stored.lastSeq)
  if (first < 0 || last < 0) {
    const { firstSeq: fromSeq, lastSeq: toSeq } = stored
    return {
      list: { channel: channel.id, lane: channel.instrument, part: 'order', fromSeq, toSeq },
      certain: false,
    }
  }
  const inside = offered.slice(first, last + 1)
  const outside = Math.max(0, stored.n + stored.leftOut - inside.length)
  const { bench } = session.setup
  for (let before = 0; before <= outside; before++) {
    const choice = offered.slice(Math.max(0, first - before), last + 1 + outside - before)
    if (gives(choice, stored, point, bench, chains))
      return { list: listOf(channel, 'order', choice), certain: true }
  }
  return { list: listOf(channel, 'order', inside), certain: false }
}

function gives(
  readings: readonly Reading[],
  stored: PointChannel,
  { startUtcUs: _start, endUtcUs: _end, channels: _channels, ...head }: Point,
  bench: Bench,
  chains: ReadonlyMap<string, Chain>,
): boolean {
  const inOrder = readings.toSorted((a, b) => a.monoUs - b.monoUs || a.seq - b.seq)
  const made = buildPoint({ bench, chains, readings: inOrder }, head satisfies PointHead).channels[0]
  return (
    made !== undefined &&
    OWN.every((what) => Object.is(made[what], stored[what])) &&
    made.marks.toSorted().join() === stored.marks.toSorted().join()
  )
}
