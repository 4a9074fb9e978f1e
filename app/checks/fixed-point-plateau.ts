import { said } from '../messages/said.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { mean } from '../statistics/centre.ts'
import { describeSamples } from '../statistics/window.ts'

/** One reading in a cell: seconds and ohm. */
export interface CellReading {
  readonly timeS: number
  readonly ohm: number
}

export interface PlateauOptions {
  /** dR/dt of the thermometer near the point, ohm/K. */
  readonly ohmPerKelvin: number
  /** A plateau stays within this of its own middle, mK; where it is not given, 2 mK or five times the noise. */
  readonly bandMk?: number
  /** A shorter one is none, s. */
  readonly leastS?: number
  /** Where the plateau is looked for: a furnace holds still as well, at another temperature. */
  readonly near?: { readonly ohm: number; readonly withinK: number }
}

/** A plateau as it was found in a record. */
export interface Plateau {
  /** Melting: from below to above; freezing: from above to below; holding: the record shows neither; chosen by a person. */
  readonly kind: 'melt' | 'freeze' | 'hold' | 'chosen'
  readonly fromS: number
  readonly toS: number
  /** The part the value is taken from. */
  readonly usedFromS: number
  readonly usedToS: number
  readonly ohm: number
  readonly n: number
  readonly nEffective: number
  readonly sdMk: number
  /** Standard uncertainty of the mean, mK, and its degrees of freedom. */
  readonly uTypeAMk: number
  readonly degreesOfFreedom: number
  /** Slope of the used part, mK/h, and how far it moves over it, mK. */
  readonly driftMkPerHour: number
  readonly rangeMk: number
  /** How far the melt cooled below the plateau before it froze, mK; null where the record does not show it. */
  readonly supercoolMk: number | null
}

const DEFAULT_BAND_MK = 2
const DEFAULT_LEAST_S = 600
/** A band of so many standard deviations of the noise holds all of a plateau but one reading in a million. */
const NOISE_BAND = 5
/** Median absolute deviation to standard deviation of a normal distribution. */
const MAD_TO_SD = 1.4826
/** Readings a plateau needs at least to say anything of its own spread. */
const LEAST_READINGS = 10
/**
 * The part of a plateau that is used: of a freeze the early one, when most is still liquid and the interface surrounds
 * the well; of a melt the late one, for the same reason. Common practice, no source.
 */
const USED = { freeze: [0.1, 0.5], melt: [0.5, 0.9], hold: [0, 1] } as const

/** Index range [from, to) of the longest stretch that keeps within the band, short excursions forgiven. */
function longestStretch(mk: readonly number[], middle: number, band: number): [number, number] {
  let best: [number, number] = [0, 0]
  let from = 0
  let outside = 0
  const close = (end: number) => {
    if (end - from > best[1] - best[0]) best = [from, end]
  }
  const forgiven = Math.max(1, Math.floor(mk.length / 200))
  for (let i = 0; i < mk.length; i++) {
    if (Math.abs(mk[i]! - middle) <= band) {
      outside = 0
      continue
    }
    outside++
    if (outside > forgiven) {
      close(i - outside + 1)
      from = i + 1
    }
  }
  close(mk.length - outside)
  return best
}

/** Where the record spends most of its time: the middle of the band that holds most readings. */
function mostVisited(mk: readonly number[], band: number): number {
  const sorted = mk.toSorted((a, b) => a - b)
  let best = { from: 0, count: 0 }
  let high = 0
  for (let low = 0; low < sorted.length; low++) {
    while (high < sorted.length && sorted[high]! - sorted[low]! <= 2 * band) high++
    if (high - low > best.count) best = { from: low, count: high - low }
  }
  return (sorted[best.from]! + sorted[best.from + best.count - 1]!) / 2
}

/** Standard deviation of single readings, mK, from second differences, which a ramp does not enter. */
function noiseMk(mk: readonly number[]): number {
  const second = mk.slice(2).map((v, i) => Math.abs(v - 2 * mk[i + 1]! + mk[i]!))
  const median = second.toSorted((a, b) => a - b)[Math.floor(second.length / 2)] ?? 0
  return (MAD_TO_SD * median) / Math.sqrt(6)
}

/** Readings near where the plateau is expected, mK from the first. Throws ComparisonError 'no-plateau' where there are none. */
function candidates(
  mk: readonly number[],
  origin: number,
  { near, ohmPerKelvin }: PlateauOptions,
): readonly number[] {
  if (!near) return mk
  const expected = ((near.ohm - origin) / ohmPerKelvin) * 1e3
  const found = mk.filter((v) => Math.abs(v - expected) <= near.withinK * 1e3)
  if (found.length > 0) return found
  throw new ComparisonError('no-plateau', said('no-reading-near-plateau', { withinK: near.withinK }), {
    expectedOhm: near.ohm,
    withinK: near.withinK,
  })
}

/** Readings so many bands away from a plateau are not its edges. */
const APART_BANDS = 3

/**
 * A furnace may hold still near the fixed point as well, and nothing in the readings alone says which of the two is the
 * cell's. Throws ComparisonError 'no-plateau' where the record holds still at a second temperature.
 */
function refuseSecond(
  readings: readonly CellReading[],
  mk: readonly number[],
  middle: number,
  bandMk: number,
  options: PlateauOptions & { readonly leastS: number },
): void {
  const origin = readings[0]!.ohm
  const others = candidates(mk, origin, options).filter((v) => Math.abs(v - middle) > APART_BANDS * bandMk)
  if (others.length < LEAST_READINGS) return
  const second = mostVisited(others, bandMk)
  const [from, to] = longestStretch(mk, second, bandMk)
  const lengthS = to > from ? readings[to - 1]!.timeS - readings[from]!.timeS : 0
  if (lengthS < options.leastS || to - from < LEAST_READINGS) return
  throw new ComparisonError(
    'no-plateau',
    said('two-plateaus', { amount: Math.abs((second - middle) / 1e3).toPrecision(2) }),
    { apartK: (second - middle) / 1e3 },
  )
}

/**
 * Finds the plateau of a cell's record and takes its value from the part that is trusted.
 *
 * The plateau is the longest stretch within a band about the temperature at which the record spends most of its time;
 * whether it melts or freezes shows in what comes before and after.
 *
 * Throws ComparisonError 'too-few-plateau-readings' | 'no-plateau'.
 */
export function findPlateau(readings: readonly CellReading[], options: PlateauOptions): Plateau {
  const { ohmPerKelvin, leastS = DEFAULT_LEAST_S } = options
  if (readings.length < LEAST_READINGS) {
    throw new ComparisonError(
      'too-few-plateau-readings',
      said('plateau-too-few-readings', { least: LEAST_READINGS, readings: readings.length }),
      { readings: readings.length },
    )
  }
  const origin = readings[0]!.ohm
  const mk = readings.map((r) => ((r.ohm - origin) / ohmPerKelvin) * 1e3)
  const bandMk = options.bandMk ?? Math.max(DEFAULT_BAND_MK, NOISE_BAND * noiseMk(mk))
  const middle = mostVisited(candidates(mk, origin, options), bandMk)
  const [from, to] = longestStretch(mk, middle, bandMk)
  const first = readings[from]
  const last = readings[to - 1]
  const lengthS = first && last ? last.timeS - first.timeS : 0
  if (!first || !last || lengthS < leastS || to - from < LEAST_READINGS) {
    throw new ComparisonError(
      'no-plateau',
      said('no-stretch-long-enough', {
        leastMin: Math.round(leastS / 60),
        amount: Number(bandMk.toPrecision(2)),
        longestMin: Math.round(lengthS / 60),
      }),
      { lengthS, leastS, bandMk },
    )
  }
  if (options.near) refuseSecond(readings, mk, middle, bandMk, { ...options, leastS })
  const before = mk.slice(0, from)
  const after = mk.slice(to)
  const lastAbove = before.findLastIndex((v) => v > middle + bandMk)
  const wasAbove = lastAbove >= 0
  const wasBelow = before.some((v) => v < middle - bandMk)
  const endsAbove = after.length > 0 && mean(after) > middle
  const kind =
    wasAbove || (after.length > 0 && !endsAbove) ? 'freeze' : wasBelow || endsAbove ? 'melt' : 'hold'
  // Between the melt and the freeze: before that the furnace was heating up.
  const coldest = before.slice(lastAbove + 1).reduce((least, v) => Math.min(least, v), middle)
  const [low, high] = USED[kind]
  const stretch = { fromS: first.timeS + low * lengthS, toS: first.timeS + high * lengthS }
  return {
    kind,
    fromS: first.timeS,
    toS: last.timeS,
    ...valueOfStretch(readings, stretch, ohmPerKelvin),
    supercoolMk: wasAbove && coldest < middle - bandMk ? middle - coldest : null,
  }
}

/** A stretch of a record, s. */
export interface Stretch {
  readonly fromS: number
  readonly toS: number
}

type StretchValue = Omit<Plateau, 'kind' | 'fromS' | 'toS' | 'supercoolMk'>

/**
 * Mean, repeatability and slope of the readings between two moments. Throws ComparisonError 'too-few-plateau-readings'.
 */
function valueOfStretch(
  readings: readonly CellReading[],
  { fromS, toS }: Stretch,
  ohmPerKelvin: number,
): StretchValue {
  const used = readings.filter((r) => r.timeS >= fromS && r.timeS <= toS)
  if (used.length < LEAST_READINGS) {
    throw new ComparisonError(
      'too-few-plateau-readings',
      said('stretch-too-few-readings', { least: LEAST_READINGS, readings: used.length }),
      { readings: used.length },
    )
  }
  const statistics = describeSamples(
    used.map((r) => r.timeS),
    used.map((r) => r.ohm),
  )
  const toMk = (ohm: number) => Math.abs(ohm / ohmPerKelvin) * 1e3
  const drift = Number.isFinite(statistics.drift) ? statistics.drift : 0
  return {
    usedFromS: used[0]!.timeS,
    usedToS: used.at(-1)!.timeS,
    ohm: statistics.mean,
    n: statistics.n,
    nEffective: statistics.nEffective,
    sdMk: toMk(statistics.sd),
    uTypeAMk: toMk(statistics.standardError),
    degreesOfFreedom: Math.max(1, statistics.nEffective - 1),
    driftMkPerHour: (drift / ohmPerKelvin) * 3.6e6,
    rangeMk: toMk(drift * (used.at(-1)!.timeS - used[0]!.timeS)),
  }
}

/**
 * The plateau as a person chose it: the value comes from the stretch between two moments, and nothing is looked for.
 *
 * Throws ComparisonError 'too-few-plateau-readings'.
 */
export function plateauOfStretch(
  readings: readonly CellReading[],
  stretch: Stretch,
  ohmPerKelvin: number,
): Plateau {
  const value = valueOfStretch(readings, stretch, ohmPerKelvin)
  return { kind: 'chosen', fromS: value.usedFromS, toS: value.usedToS, ...value, supercoolMk: null }
}
