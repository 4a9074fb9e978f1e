import { at, first } from '../base/lists.ts'
import { coverageFactor } from '../statistics/coverage.ts'

export interface SelfHeating {
  /** What the measuring current itself adds to the signal, in the signal's unit, and its standard uncertainty. */
  readonly heatingAtCurrent: number
  readonly uHeatingAtCurrent: number
  /** Independent pairs it comes from. */
  readonly n: number
  /** The pairs agree among themselves; where they do not, the figure is not to be used. */
  readonly steady: boolean
}

export interface AtCurrent {
  readonly timeS: number
  readonly currentMa: number
  readonly signal: number
}

/** A current this much above the channel's own is the higher one of a pair. */
const HIGHER = 1.05
/** Readings further apart than this belong to visits of their own, s: a change of current is waited for longer. */
const VISIT_GAP_S = 30
/** Relative standard uncertainty of the ratio of the two currents of a source; common practice, no source. */
const U_CURRENT_RATIO = 0.002
/** A lone pair is used where its standard uncertainty is at most the heating over this; common practice, no source. */
const APART = 3
/** Confidence up to which the halves of a series agree. */
const AGREE = 0.99
/** Part of the self-heating that they may always differ by; common practice, no source. */
const ALWAYS_ALLOWED = 0.1

interface Visit {
  readonly high: boolean
  readonly timeS: number
  readonly signal: number
  readonly u: number
}

/**
 * Self-heating from pairs of visits at the current I1 and at a higher one I2:
 *
 *   d_k = R2 - R1 - (movement of the bath between the two),   dR = I1^2 / (I2^2 - I1^2) mean(d_k)
 *
 * The movement of the bath is that of a reference read in the same cycle, in the signal's unit; without one two pairs in
 * opposite order are taken together, so that a steady drift cancels. The standard uncertainty comes from the scatter of
 * the d_k, and from the ratio of the currents:
 *
 *   u^2 = I1^4 / (I2^2 - I1^2)^2 u^2(mean d) + (2 q / (q - 1) u_r dR)^2,  q = (I2 / I1)^2
 *
 * Neighbouring pairs share a visit of the reference, with opposite signs: their d_k are not independent, and u(mean d) takes
 * that into account (`scatterOfMean`). undefined where there is no pair. Source: common practice, no source; JCGM 100:2008,
 * 4.2.3 for the scatter, 5.2 for what is shared.
 */
export function selfHeatingOf(
  readings: readonly AtCurrent[],
  currentMa: number,
  bath?: Companion,
): SelfHeating | undefined {
  const visits = visitsOf(readings, currentMa)
  const high = readings.find((r) => r.currentMa > currentMa * HIGHER)
  if (!high) return undefined
  const q = (high.currentMa / currentMa) ** 2
  const share = 1 / (q - 1)
  const found = bath ? referred(visits, bath) : unreferred(visits)
  const n = found.length
  if (n === 0) return undefined
  const mean = found.reduce((sum, d) => sum + d.value, 0) / n
  const scatter = n > 1 ? scatterOfMean(found, mean) : first(found).u
  const heating = share * mean
  const uScatter = share * scatter
  return {
    heatingAtCurrent: heating,
    uHeatingAtCurrent: Math.hypot(uScatter, ((2 * q) / (q - 1)) * U_CURRENT_RATIO * heating),
    n,
    steady: agrees(found, share, heating),
  }
}

interface Difference {
  readonly value: number
  /** From the readings alone, for where there is one pair only. */
  readonly u: number
  /** Part of each visit in the value, by a name of the visit. */
  readonly parts: ReadonlyMap<string, number>
}

/** Another thermometer read between the pairs: when, and how the bath moved by it, in the unit of the signal. */
export interface Companion {
  at(timeS: number): number
  readonly timesS: readonly number[]
}

/**
 * Standard uncertainty of the mean of differences d_k = sum_v W_kv x_v of visits x_v that repeat equally well:
 *
 *   s^2 = sum_k (d_k - mean d)^2 / sum_k sum_v (W_kv - w_v)^2,   u^2 = s^2 sum_v w_v^2,   w_v = mean_k W_kv
 *
 * which is s(d_k) / sqrt(n) where no visit is shared. Source: JCGM 100:2008, 5.1.2, with the expectation of the scatter.
 */
function scatterOfMean(found: readonly Difference[], mean: number): number {
  const names = [...new Set(found.flatMap((d) => [...d.parts.keys()]))]
  const means = names.map((v) => found.reduce((sum, d) => sum + (d.parts.get(v) ?? 0), 0) / found.length)
  const squares = found.reduce((sum, d) => sum + (d.value - mean) ** 2, 0)
  const expected = found.reduce(
    (sum, d) => sum + names.reduce((part, v, i) => part + ((d.parts.get(v) ?? 0) - at(means, i)) ** 2, 0),
    0,
  )
  const ofMean = means.reduce((sum, w) => sum + w * w, 0)
  return expected > 0 ? Math.sqrt((squares / expected) * ofMean) : 0
}

/**
 * The first and the second half of the pairs tell the same, by the scatter within the halves (Student's t); one pair by its own
 * parts.
 */
function agrees(found: readonly Difference[], share: number, heating: number): boolean {
  const allowed = Math.abs(heating) * ALWAYS_ALLOWED
  const n = found.length
  if (n === 1) return share * first(found).u <= Math.max(allowed, Math.abs(heating) / APART)
  const half = n >> 1
  const halves = [found.slice(0, half), found.slice(-half)] as const
  const [a, b] = halves.map((part) => part.reduce((sum, d) => sum + d.value, 0) / half) as [number, number]
  const squares = halves
    .flatMap((part, k) => part.map((d) => (d.value - (k === 0 ? a : b)) ** 2))
    .reduce((sum, v) => sum + v, 0)
  const dof = 2 * (half - 1)
  const spread = dof > 0 ? Math.sqrt((squares / dof) * (2 / half)) : Math.hypot(...found.map((d) => d.u))
  const limit = dof > 0 ? coverageFactor(AGREE, dof) : APART
  return share * Math.abs(a - b) <= limit * share * spread + allowed
}

function visitsOf(readings: readonly AtCurrent[], currentMa: number): Visit[] {
  const isHigh = (r: AtCurrent) => r.currentMa > currentMa * HIGHER
  const groups: AtCurrent[][] = []
  for (const reading of readings) {
    const group = groups.at(-1)
    const last = group?.at(-1)
    if (group && last && isHigh(last) === isHigh(reading) && reading.timeS - last.timeS <= VISIT_GAP_S)
      group.push(reading)
    else groups.push([reading])
  }
  return groups.map((group) => {
    const n = group.length
    const signal = group.reduce((sum, r) => sum + r.signal, 0) / n
    const squares = group.reduce((sum, r) => sum + (r.signal - signal) ** 2, 0)
    return {
      high: isHigh(first(group)),
      timeS: group.reduce((sum, r) => sum + r.timeS, 0) / n,
      signal,
      u: n > 1 ? Math.sqrt(squares / (n - 1) / n) : 0,
    }
  })
}

/** Pairs of neighbouring visits at different currents, each visit used once. */
function pairsOf(visits: readonly Visit[]): { low: Visit; high: Visit; rising: boolean }[] {
  const pairs: { low: Visit; high: Visit; rising: boolean }[] = []
  for (let i = 0; i + 1 < visits.length; i++) {
    const [a, b] = [at(visits, i), at(visits, i + 1)]
    if (a.high === b.high) continue
    pairs.push(b.high ? { low: a, high: b, rising: true } : { low: b, high: a, rising: false })
    i += 1
  }
  return pairs
}

function referred(visits: readonly Visit[], bath: Companion): Difference[] {
  return pairsOf(visits).flatMap(({ low, high }) => {
    const value = high.signal - low.signal - (bath.at(high.timeS) - bath.at(low.timeS))
    if (!Number.isFinite(value)) return []
    const parts = new Map(partsOf(low, high))
    for (const [time, sign] of [
      [high.timeS, -1],
      [low.timeS, 1],
    ] as const)
      for (const [i, part] of interpolationParts(bath.timesS, time))
        parts.set(`companion ${i}`, (parts.get(`companion ${i}`) ?? 0) + sign * part)
    return [{ value, u: Math.hypot(low.u, high.u), parts }]
  })
}

const partsOf = (low: Visit, high: Visit): [string, number][] => [
  [`own ${low.timeS}`, -1],
  [`own ${high.timeS}`, 1],
]

/** Parts of the values at some times in what is interpolated between them on a straight line, held at the ends. */
function interpolationParts(times: readonly number[], time: number): [number, number][] {
  const after = times.findIndex((t) => t >= time)
  if (after === 0) return [[0, 1]]
  if (after < 0) return [[times.length - 1, 1]]
  const part = (time - at(times, after - 1)) / (at(times, after) - at(times, after - 1))
  return [
    [after - 1, 1 - part],
    [after, part],
  ]
}

/** Two pairs in opposite order make one difference that a steady drift leaves alone; so does low, high, low. */
function unreferred(visits: readonly Visit[]): Difference[] {
  if (visits.length === 3 && !first(visits).high && at(visits, 1).high && !at(visits, 2).high) {
    const [before, high, after] = visits as [Visit, Visit, Visit]
    const apart = before.signal - after.signal
    // What the bath did beside a steady drift may be as large as what it did from one part to the other.
    const u = Math.hypot(high.u, Math.hypot(before.u, after.u) / 2, apart / 2 / Math.sqrt(3))
    return [{ value: high.signal - (before.signal + after.signal) / 2, u, parts: new Map() }]
  }
  const pairs = pairsOf(visits)
  const found: Difference[] = []
  for (let i = 0; i + 1 < pairs.length; i += 2) {
    const [a, b] = [at(pairs, i), at(pairs, i + 1)]
    if (a.rising === b.rising) continue
    found.push({
      value: (a.high.signal - a.low.signal + b.high.signal - b.low.signal) / 2,
      u: Math.hypot(a.high.u, a.low.u, b.high.u, b.low.u) / 2,
      parts: new Map([...partsOf(a.low, a.high), ...partsOf(b.low, b.high)].map(([v, w]) => [v, w / 2])),
    })
  }
  return found
}
