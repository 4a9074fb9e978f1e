import { entryOf, last as lastOf, needed, at as placed } from '../base/lists.ts'
import type { Bench, Channel } from '../records/bench.ts'
import { isExcluded, type Mark } from '../records/mark.ts'
import type { Point, PointChannel } from '../records/point.ts'
import type { Reading } from '../records/reading.ts'
import { markSpikes } from '../statistics/spikes.ts'
import { describeSamples, type WindowStatistics } from '../statistics/window.ts'
import type { Chain, ChainContext } from './chain.ts'
import { Curve } from './curve.ts'
import { type Companion, type SelfHeating, selfHeatingOf } from './self-heating-pair.ts'
import { FLOOR_K } from './suspicion.ts'

export interface PointSource {
  readonly bench: Bench
  readonly chains: ReadonlyMap<string, Chain>
  /** Readings of the point in order of time, at the channels' own currents. */
  readonly readings: readonly Reading[]
  /** Readings of self-heating pairs, where they were taken: of the channels themselves and of what was read between. */
  readonly pairs?: readonly Reading[]
}

/** Robust standard deviations from the trend at which a reading within a point is left out; common practice, no source. */
const SPIKE_LIMIT = 6

interface Taken {
  readonly counted: readonly Reading[]
  readonly leftOut: number
  readonly marks: readonly Mark[]
  readonly timesS: readonly number[]
  readonly statistics: WindowStatistics
  readonly meanTimeS: number
}

export type PointHead = Omit<Point, 'startUtcUs' | 'endUtcUs' | 'channels'>

/**
 * Makes a point of its readings. Each channel: mean, spread, effective number and drift of the raw values that count;
 * the signal through the chain; and the reference's temperature at the very times of its readings, interpolated
 * between the reference's visits, so that a drift of the bath does not enter the comparison.
 *
 * Throws RangeError without a single reading.
 */
export function buildPoint(source: PointSource, head: PointHead): Point {
  const { bench, chains, readings } = source
  const first = readings[0]
  const last = readings.at(-1)
  if (!first || !last) throw new RangeError('a point needs at least one reading')
  const taken = new Map<string, Taken>()
  const marks = new Set(head.marks)
  for (const channel of bench.channels) {
    const own = readings.filter((r) => r.channel === channel.id)
    const one = takeChannel(own, entryOf(chains, channel.id))
    if (one) taken.set(channel.id, one)
    else if (own.length > 0) marks.add(`no reading of ${channel.name} counts`)
  }
  const signals = signalCurves(bench, chains, taken)
  const references = referenceCurves(bench, chains, taken, signals)
  const bathAt = source.pairs && bathDuring(source, source.pairs)
  const channels: PointChannel[] = []
  for (const [id, one] of taken) {
    const pair = source.pairs && pairOf(source, source.pairs, id, signals, bathAt)
    if (pair && !pair.steady) marks.add(`self-heating of ${nameOf(bench, id)}: the pairs disagree, not used`)
    const used = pair?.steady ? pair : undefined
    channels.push(pointChannel(id, entryOf(chains, id), one, signals, references, used))
  }
  return {
    ...head,
    startUtcUs: first.utcUs,
    endUtcUs: last.utcUs,
    channels,
    marks: [...marks],
  }
}

const channelOf = (bench: Bench, id: string): Channel =>
  needed(
    bench.channels.find((c) => c.id === id),
    `channel ${id}`,
  )

function nameOf(bench: Bench, id: string): string {
  return bench.channels.find((c) => c.id === id)?.name ?? id
}

/** The readings of one channel that count; spikes against its own trend are left out as well. */
function takeChannel(readings: readonly Reading[], chain: Chain): Taken | undefined {
  const offered = readings.filter((r) => !r.marks.includes('settling-discarded'))
  const fit = offered.filter((r) => r.value !== null && !isExcluded(r.marks))
  const times = fit.map((r) => r.monoUs / 1e6)
  const values = fit.map((r) => Number(r.value))
  const spikes = markSpikes(detrended(times, values), {
    limit: SPIKE_LIMIT,
    resolution: values.length > 0 ? FLOOR_K / kelvinPerRaw(chain, fit[0]!) : 0,
  })
  const counted = fit.filter((_, i) => spikes[i] === 0)
  if (counted.length === 0) return undefined
  const timesS = counted.map((r) => r.monoUs / 1e6)
  const statistics = describeSamples(
    timesS,
    counted.map((r) => Number(r.value)),
    { decimal: true },
  )
  const marks = new Set<Mark>(offered.flatMap((r) => r.marks))
  if (counted.length < fit.length) marks.add('spike-suspected')
  return {
    counted,
    leftOut: offered.length - counted.length,
    marks: [...marks],
    timesS,
    statistics,
    meanTimeS: timesS.reduce((sum, t) => sum + t, 0) / timesS.length,
  }
}

/** How much one unit of the raw quantity is worth, K; a thousandth of a kelvin per unit where the chain does not tell. */
function kelvinPerRaw(chain: Chain, reading: Reading): number {
  const value = Number(reading.value)
  const step = Math.abs(value) * 1e-6 || 1e-6
  const context: ChainContext = { ohmOf: () => 100, celsiusOf: () => 0 }
  const at = (v: number) => chain.convert(v, reading.unit, reading.currentMa, context).celsius
  const slope = Math.abs(at(value + step) - at(value)) / step
  return slope > 0 ? slope : 1e-3
}

function detrended(times: readonly number[], values: readonly number[]): number[] {
  if (values.length < 6) return [...values]
  const { drift } = describeSamples(times, values)
  return Number.isFinite(drift)
    ? values.map((v, i) => v - drift * (placed(times, i) - placed(times, 0)))
    : [...values]
}

/** Signals (ohm or mV) of every channel over time; channels measured against another one come after it. */
function signalCurves(
  bench: Bench,
  chains: ReadonlyMap<string, Chain>,
  taken: ReadonlyMap<string, Taken>,
): ReadonlyMap<string, Curve> {
  const curves = new Map<string, Curve>()
  const build = (id: string): Curve | undefined => {
    const known = curves.get(id)
    const one = taken.get(id)
    if (known || !one) return known
    const chain = entryOf(chains, id)
    const channel = channelOf(bench, id)
    const against = channel.reference?.kind === 'channel' ? build(channel.reference.channel) : undefined
    const values = one.counted.map((r, i) => {
      const context: ChainContext = { ohmOf: () => against?.at(placed(one.timesS, i)) ?? Number.NaN }
      return chain.convert(Number(r.value), r.unit, r.currentMa, context).signal
    })
    const curve = new Curve(one.timesS, values)
    curves.set(id, curve)
    return curve
  }
  for (const channel of bench.channels) build(channel.id)
  return curves
}

/** Temperature of each channel over time, with junctions that follow another channel. */
function celsiusCurve(
  chain: Chain,
  one: Taken,
  signals: Curve | undefined,
  junction: ((timeS: number) => number) | undefined,
): Curve {
  const values = one.counted.map((r, i) => {
    const timeS = placed(one.timesS, i)
    const context: ChainContext = { celsiusOf: () => junction?.(timeS) ?? Number.NaN }
    if (r.unit === 'degC' || r.unit === 'K')
      return chain.convert(Number(r.value), r.unit, r.currentMa).celsius
    return chain.celsiusOfSignal(signals?.at(timeS) ?? Number.NaN, r.currentMa, context)
  })
  return new Curve(one.timesS, values)
}

interface ReferenceCurve {
  readonly channel: string
  readonly curve: Curve
}

/** Temperature of every reference over time, of those that have one. */
function referenceCurves(
  bench: Bench,
  chains: ReadonlyMap<string, Chain>,
  taken: ReadonlyMap<string, Taken>,
  signals: ReadonlyMap<string, Curve>,
): ReferenceCurve[] {
  return bench.channels
    .filter((c) => c.role === 'reference' && taken.has(c.id) && !entryOf(chains, c.id).nominal)
    .map((c) => ({
      channel: c.id,
      curve: celsiusCurve(
        entryOf(chains, c.id),
        entryOf(taken, c.id),
        signals.get(c.id),
        undefined,
      ).byVisit(),
    }))
    .filter(({ curve }) => curve.length > 0)
}

type BathAt = (channel: string) => Curve | undefined

/**
 * How the bath moved while the pairs of a channel were taken, degC over time: as a reference shows it that was read between
 * them at its own current; for the reference itself another thermometer that was.
 */
function bathDuring({ bench, chains }: PointSource, pairs: readonly Reading[]): BathAt {
  const curveOf = ({ id, currentMa }: Channel): Curve => {
    const chain = entryOf(chains, id)
    const own = pairs.filter(
      (r) =>
        r.channel === id &&
        r.value !== null &&
        !isExcluded(r.marks) &&
        (r.currentMa ?? currentMa) <= currentMa * OWN_CURRENT,
    )
    return new Curve(
      own.map((r) => r.monoUs / 1e6),
      own.map((r) => chain.convert(Number(r.value), r.unit, r.currentMa).celsius),
    ).byVisit()
  }
  const ranked = bench.channels
    .filter((c) => c.role !== 'monitor' && c.reference?.kind !== 'channel')
    .toSorted((a, b) => Number(b.role === 'reference') - Number(a.role === 'reference'))
  return (channel) => {
    for (const other of ranked) {
      if (other.id === channel) continue
      const curve = curveOf(other)
      if (curve.length >= LEAST_LOOKS) return curve
    }
    return undefined
  }
}

/** A current no more than this above the channel's own is its own. */
const OWN_CURRENT = 1.05
/** Visits of a companion that tell how a bath moved. */
const LEAST_LOOKS = 3

function pairOf(
  source: PointSource,
  pairs: readonly Reading[],
  id: string,
  signals: ReadonlyMap<string, Curve>,
  bathAt: BathAt | undefined,
): SelfHeating | undefined {
  const chain = entryOf(source.chains, id)
  const channel = channelOf(source.bench, id)
  const against = channel.reference?.kind === 'channel' ? signals.get(channel.reference.channel) : undefined
  const own = pairs.filter((r) => r.channel === id && r.value !== null && !isExcluded(r.marks))
  const celsius = bathAt?.(id)
  const slope = celsius && chain.slopeAt(celsius.at((own[0]?.monoUs ?? 0) / 1e6))
  const bath: Companion | undefined =
    celsius && slope !== undefined && Number.isFinite(slope)
      ? { at: (timeS) => celsius.at(timeS) * slope, timesS: celsius.times }
      : undefined
  return selfHeatingOf(
    own.map((r) => ({
      timeS: r.monoUs / 1e6,
      currentMa: r.currentMa ?? channel.currentMa,
      signal: chain.convert(Number(r.value), r.unit, r.currentMa, {
        ohmOf: () => against?.at(r.monoUs / 1e6) ?? Number.NaN,
      }).signal,
    })),
    channel.currentMa,
    bath,
  )
}

function pointChannel(
  id: string,
  chain: Chain,
  one: Taken,
  signals: ReadonlyMap<string, Curve>,
  references: readonly ReferenceCurve[],
  pair: SelfHeating | undefined,
): PointChannel {
  const s = one.statistics
  const unit = placed(one.counted, 0).unit
  const currentMa = placed(one.counted, 0).currentMa
  const signal = signals.get(id)?.mean() ?? Number.NaN
  const direct = unit === 'degC' || unit === 'K'
  const signalZeroCurrent = pair ? signal - pair.heatingAtCurrent : Number.NaN
  let t90C = direct
    ? chain.convert(s.mean, unit, currentMa).celsius
    : chain.celsiusOfSignal(signal, currentMa)
  if (pair && chain.atZeroCurrent) t90C = chain.celsiusOfSignal(signalZeroCurrent, 0)
  const overTimes = (at: (timeS: number) => number) =>
    one.timesS.reduce((sum, t) => sum + at(t), 0) / one.timesS.length
  const byReference = references.map(({ channel, curve }) => ({
    channel,
    celsius: overTimes((t) => curve.at(t)),
  }))
  const referenceC =
    byReference.length === 0
      ? Number.NaN
      : byReference.reduce((sum, r) => sum + r.celsius, 0) / byReference.length
  const isReference = references.some(({ channel }) => channel === id)
  const heldS = isReference ? 0 : overTimes((t) => references[0]?.curve.beyondS(t) ?? 0)
  const slope = chain.slopeAt(Number.isFinite(t90C) ? t90C : referenceC)
  // Kelvin for each unit of the raw quantity; a ratio is worth its resistor, which the means show.
  const perRaw = direct ? 1 : signal / s.mean / slope
  const mk = (raw: number) => finite(Math.abs(raw * perRaw) * 1e3)
  return {
    channel: id,
    firstSeq: placed(one.counted, 0).seq,
    lastSeq: lastOf(one.counted).seq,
    n: s.n,
    leftOut: one.leftOut,
    rawMean: s.mean,
    rawSd: Number.isFinite(s.sd) ? s.sd : 0,
    rawUnit: unit,
    nEffective: s.nEffective,
    rawDriftPerS: Number.isFinite(s.drift) ? s.drift : 0,
    uRawDriftPerS: Number.isFinite(s.driftUncertainty) ? s.driftUncertainty : 0,
    signal: finite(signal),
    signalZeroCurrent: finite(signalZeroCurrent),
    selfHeatingMk: pair ? finite((pair.heatingAtCurrent / slope) * 1e3) : null,
    uSelfHeatingMk: pair ? finite(Math.abs(pair.uHeatingAtCurrent / slope) * 1e3) : null,
    t90C: chain.nominal ? null : finite(t90C),
    sdMk: mk(s.sd),
    driftMkPerMin: finite(s.drift * perRaw * 60e3),
    uTypeAMk: mk(s.standardError),
    referenceC: finite(referenceC),
    ...(byReference.length > 1 && { references: byReference }),
    ...(heldS > 0 && { referenceHeldS: heldS }),
    ...(pair && { nPairs: pair.n }),
    marks: [...one.marks],
  }
}

function finite(value: number): number | null {
  return Number.isFinite(value) ? value : null
}
