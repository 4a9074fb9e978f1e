import type { Chain } from '../../../app/live/chain.ts'
import { buildPoint, type PointHead } from '../../../app/live/point.ts'
import type { Channel } from '../../../app/records/bench.ts'
import { isExcluded } from '../../../app/records/mark.ts'
import type { Point, PointChannel } from '../../../app/records/point.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { SessionFile } from '../../store/session-file.ts'

/** Readings of one order of pairs: two minutes for each of three currents on every channel, and its retries. */
const MOST_OF_PAIRS = 200_000
/** Readings that count at each current of a pair, usually. */
const PAIR_READINGS = 6
/** Places for the first and the last reading of a pair that are tried. */
const MOST_TRIED = 12
/** How far a current may be above the channel's own and still be its own. */
const HIGHER = 1.05

/**
 * Readings of the self-heating pairs of a point that does not say which they are (points stored before pairs were referred to
 * the reference), by channel: those between the point's own readings and the event
 * that filed it. Readings of the scan that came between are told from the pair's first part by the one thing that is
 * certain: through the chains of the session's own day the pair gives exactly what was stored. A channel of which no
 * choice does so is left out.
 */
export function olderPairs(
  session: SessionFile,
  point: Point,
  own: readonly Reading[],
  chains: ReadonlyMap<string, Chain>,
): ReadonlyMap<string, readonly Reading[]> {
  const found = new Map<string, readonly Reading[]>()
  const wanted = point.channels.filter((c) => c.selfHeatingMk !== null)
  if (wanted.length === 0) return found
  const { bench } = session.setup
  const toUs = filedAt(session, point)
  const { startUtcUs: _start, endUtcUs: _end, channels: _channels, ...head } = point
  for (const stored of wanted) {
    const channel = bench.channels.find((c) => c.id === stored.channel)
    if (!channel) continue
    const after = session.readings({
      channel: stored.channel,
      fromUtcUs: point.endUtcUs + 1,
      toUtcUs: toUs,
      most: MOST_OF_PAIRS,
    })
    const pair = choices(after, channel).find((readings) => gives(readings, stored, own, head))
    if (pair) found.set(stored.channel, pair)
  }
  return found

  function gives(
    pairs: readonly Reading[],
    stored: PointChannel,
    readings: readonly Reading[],
    of: PointHead,
  ): boolean {
    const again = buildPoint({ bench, chains, readings, pairs }, of).channels.find(
      (c) => c.channel === stored.channel,
    )
    // Its uncertainty was worked out otherwise when the point was stored.
    return again?.signalZeroCurrent === stored.signalZeroCurrent
  }
}

/** The pair with every possible first and last reading, the likeliest first: as many as a pair takes at each current. */
function choices(after: readonly Reading[], channel: Channel): Reading[][] {
  const sorted = after.toSorted((a, b) => a.monoUs - b.monoUs)
  const isHigh = (r: Reading) => (r.currentMa ?? 0) > channel.currentMa * HIGHER
  const first = sorted.findIndex(isHigh)
  if (first < 0) return []
  // What was marked while the current was changing is in the pair or not: it does not count.
  const lowAfter = sorted.flatMap((r, i) => (i > sorted.findLastIndex(isHigh) && counts(r) ? [i + 1] : []))
  const lowBefore = sorted.flatMap((r, i) => (i < first && counts(r) ? [i] : [])).toReversed()
  const ends = likeliestFirst(lowAfter, PAIR_READINGS - 1)
  const starts = likeliestFirst(lowBefore, PAIR_READINGS - 1)
  return starts.flatMap((start) => ends.map((end) => sorted.slice(start, end)))
}

const counts = (r: Reading) => r.value !== null && !isExcluded(r.marks)

/** The place at `usual` first, then those near it, and the farthest one. */
function likeliestFirst(places: readonly number[], usual: number): number[] {
  const near = places.slice(0, MOST_TRIED).map((place, i) => ({ place, off: Math.abs(i - usual) }))
  const order = near.toSorted((a, b) => a.off - b.off).map(({ place }) => place)
  const far = places.at(-1)
  return far === undefined || order.includes(far) ? order : [...order, far]
}

/** UTC of the event that filed a point: the first one of the plan after the point's own readings. */
function filedAt(session: SessionFile, point: Point): number {
  const filed = session
    .events({ kinds: ['plan-step', 'decision'] })
    .find((e) => e.utcUs > point.endUtcUs && e.data.phase !== undefined && e.data.phase !== 'measuring')
  return filed?.utcUs ?? session.lastUtcUs ?? point.endUtcUs
}
