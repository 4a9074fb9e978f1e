import { exactCoverage } from '../statistics/coverage.ts'
import { selectInPlace } from '../statistics/selection.ts'

/** What trials of one result say: standard deviation, and the ends of the probabilistically symmetric interval. */
export interface Summary {
  readonly u: number
  readonly low: number
  readonly high: number
}

/** A block of trials: its summary, and what all blocks together need of it. */
export interface BlockSummary extends Summary {
  readonly trials: number
  readonly mean: number
  /** Sum of the squares about the mean. */
  readonly squares: number
}

function placesOf(trials: number, coverage: number): { low: number; high: number } {
  const tail = (1 - exactCoverage(coverage)) / 2
  const place = (p: number) => Math.min(trials - 1, Math.max(0, Math.round(p * trials) - 1))
  return { low: place(tail), high: place(1 - tail) }
}

/** Sums up a block; its trials are put in another order. Source: JCGM 101:2008, 7.6 and 7.7. */
export function summaryOf(values: Float64Array, coverage: number): BlockSummary {
  const trials = values.length
  let sum = 0
  for (let k = 0; k < trials; k++) sum += values[k]!
  const mean = sum / trials
  let squares = 0
  for (let k = 0; k < trials; k++) squares += (values[k]! - mean) ** 2
  // Selecting the low end first leaves everything above it to the right, where the high end is looked for.
  const places = placesOf(trials, coverage)
  const low = selectInPlace(values, places.low)
  const high = selectInPlace(values, places.high, places.low)
  return { trials, mean, squares, u: Math.sqrt(squares / (trials - 1)), low, high }
}

/** Sums up all trials of a result of which each block is summed up already. */
export function pooledSummary(
  values: Float64Array,
  blocks: readonly BlockSummary[],
  coverage: number,
): Summary {
  const trials = values.length
  const mean = blocks.reduce((sum, b) => sum + b.mean * b.trials, 0) / trials
  const squares = blocks.reduce((sum, b) => sum + b.squares + b.trials * (b.mean - mean) ** 2, 0)
  const places = placesOf(trials, coverage)
  return {
    u: Math.sqrt(squares / (trials - 1)),
    low: selectNear(
      values,
      places.low,
      blocks.map((b) => b.low),
    ),
    high: selectNear(
      values,
      places.high,
      blocks.map((b) => b.high),
    ),
  }
}

/** The k-th smallest, looked for first about where it lies in each block: only what lies there is put in order. */
function selectNear(values: Float64Array, k: number, near: readonly number[]): number {
  const [least, most] = [Math.min(...near), Math.max(...near)]
  const [from, to] = [least - (most - least), most + (most - least)]
  let below = 0
  const within: number[] = []
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!
    if (value < from) below++
    else if (value <= to) within.push(value)
  }
  const place = k - below
  if (place < 0 || place >= within.length) return selectInPlace(values, k)
  return selectInPlace(Float64Array.from(within), place)
}
