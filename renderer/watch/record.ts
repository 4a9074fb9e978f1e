import { at } from '../../app/base/lists.ts'
import { unpackColumns } from '../../app/contract/columns.ts'
import { HIDDEN_MARKS, isExcluded, MARK_NAMES, markBits } from '../../app/records/mark.ts'
import { station } from '../client/connect.ts'
import { board } from '../live/listen.ts'
import {
  differenceScale,
  inUnit,
  type Look,
  lookOf,
  type Quantity,
  type Shown,
  type Sight,
} from '../live/quantity.ts'
import { less, type Track } from '../live/track.ts'
import type { TimeWindow } from '../plots/hooks.ts'
import type { PastLane } from '../plots/spec.ts'

const BUCKETS = 1000
/** With no more readings than this in view, differences are taken reading by reading; else between means of buckets. */
const MOST_SINGLE = 20_000
const HIDDEN = markBits(HIDDEN_MARKS)
const KEPT_OUT_OF_MEANS = markBits(MARK_NAMES.filter((mark) => isExcluded([mark])))

const stretch = (session: string, channel: string, quantity: Quantity, window: TimeWindow) => ({
  session,
  channel,
  quantity,
  fromUtcUs: Math.round(window.from * 1e6),
  toUtcUs: Math.round(window.to * 1e6),
})

interface Overview {
  t: Float64Array
  min: Float64Array
  max: Float64Array
  mean: Float64Array
  n: Uint32Array
}

async function overviewOf(
  session: string,
  channel: string,
  shown: Quantity,
  window: TimeWindow,
  signal: AbortSignal,
): Promise<Overview> {
  const input = { ...stretch(session, channel, shown, window), buckets: BUCKETS }
  const blob = await station.history.overview(input, { signal })
  return unpackColumns(await blob.arrayBuffer()).columns as unknown as Overview
}

/** A track, and how many readings were left out of it. */
export interface Readings extends Track {
  leftOut: number
}

/** Every reading of a stretch in the record, at most `most`, but for those with a mark in `without`. */
async function readingsOf(
  session: string,
  channel: string,
  shown: Quantity,
  window: TimeWindow,
  { most, signal, without }: { most: number; signal: AbortSignal | undefined; without: number },
): Promise<Readings> {
  const input = { ...stretch(session, channel, shown, window), most }
  const blob = await station.history.readings(input, signal ? { signal } : {})
  const { columns } = unpackColumns(await blob.arrayBuffer())
  const marks = columns.marks as Uint32Array
  const counts = (_: number, i: number) => (at(marks, i) & without) === 0
  const t = (columns.utcS as Float64Array).filter(counts)
  return { t, v: (columns.value as Float64Array).filter(counts), leftOut: marks.length - t.length }
}

const lookAt = (channel: string, shown: Shown): Look => lookOf(shown, board.units.get(channel))
/** Numbers of the record as they are shown. */
const seen = (values: Float64Array, look: Look): Float64Array =>
  look.unit === undefined ? values : values.map((value) => inUnit(value, look))

/** Deviations come in millikelvin already. */
const recordScale = (shown: Quantity) => (shown === 'deviation' ? 1 : differenceScale(shown))

/** Wider by a little on both sides, so that the base reaches past the first and last reading of the others. */
function widened({ from, to }: TimeWindow): TimeWindow {
  const by = (to - from) * 0.05
  return { from: from - by, to: to + by }
}

/** Asks for lanes of differences from one base, which it fetches once for each quantity. */
export function differencesFrom(
  session: string,
  base: string,
  shown: Shown,
  window: TimeWindow,
  signal: AbortSignal,
): (channel: string) => Promise<PastLane> {
  const bases = new Map<Quantity, Promise<(channel: string) => Promise<PastLane>>>()
  return async (channel) => {
    const { quantity } = lookAt(channel, shown)
    const less = bases.get(quantity) ?? differencesOf(session, base, quantity, window, signal)
    bases.set(quantity, less)
    return (await less)(channel)
  }
}

async function differencesOf(
  session: string,
  base: string,
  shown: Quantity,
  window: TimeWindow,
  signal: AbortSignal,
): Promise<(channel: string) => Promise<PastLane>> {
  const overview = await overviewOf(session, base, shown, window, signal)
  const scale = recordScale(shown)
  if (overview.n.reduce((sum, n) => sum + n, 0) <= MOST_SINGLE) {
    const every = { most: 2 * MOST_SINGLE, signal, without: HIDDEN }
    const single = await readingsOf(session, base, shown, widened(window), every)
    return async (channel) =>
      laneOf(less(await readingsOf(session, channel, shown, window, every), single, scale))
  }
  const means = { t: overview.t, v: overview.mean }
  return async (channel) => {
    const { t, mean } = await overviewOf(session, channel, shown, window, signal)
    return laneOf(less({ t, v: mean }, means, scale))
  }
}

const laneOf = ({ t, v }: Track): PastLane => ({ t, min: v, max: v, mid: v })

/** A channel's extremes in a stretch of the record. */
export async function laneFrom(
  session: string,
  channel: string,
  shown: Shown,
  window: TimeWindow,
  signal: AbortSignal,
): Promise<PastLane> {
  const look = lookAt(channel, shown)
  const { t, min, max, mean } = await overviewOf(session, channel, look.quantity, window, signal)
  return { t, min: seen(min, look), max: seen(max, look), mid: seen(mean, look) }
}

/**
 * Asks for the readings of a stretch as they are shown: themselves, or less the base's, which is fetched once. For
 * statistics, without those that a mark keeps out of every mean.
 */
export async function shownReadings(
  session: string,
  { shown, base }: Sight,
  window: TimeWindow,
  options: { most: number; forMeans: boolean; signal?: AbortSignal },
): Promise<(channel: string) => Promise<Readings>> {
  const { most, forMeans, signal } = options
  const without = forMeans ? KEPT_OUT_OF_MEANS : HIDDEN
  const read = (channel: string, quantity: Quantity, stretch: TimeWindow) =>
    readingsOf(session, channel, quantity, stretch, { most, signal, without })
  const bases = new Map<Quantity, Promise<Readings>>()
  return async (channel) => {
    const look = lookAt(channel, shown)
    const own = await read(channel, look.quantity, window)
    if (base === null || channel === base) return { ...own, v: seen(own.v as Float64Array, look) }
    const other = bases.get(look.quantity) ?? read(base, look.quantity, widened(window))
    bases.set(look.quantity, other)
    return { ...less(own, await other, recordScale(look.quantity)), leftOut: own.leftOut }
  }
}
