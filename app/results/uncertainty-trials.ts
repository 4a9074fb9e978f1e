import { exactCoverage } from '../statistics/coverage.ts'
import { selectInPlace } from '../statistics/selection.ts'

/** What trials of one result say: standard deviation, and the ends of the probabilistically symmetric interval. */
export interface Summary {
  readonly u: number
  readonly low: number
  readonly high: number
}

function placesOf(trials: number, coverage: number): { low: number; high: number } {
  const tail = (1 - exactCoverage(coverage)) / 2
  const place = (p: number) => Math.max(0, Math.round(p * trials) - 1)
  return { low: place(tail), high: place(1 - tail) }
}

/** Sums up a block; its trials are put in another order. Source: JCGM 101:2008, 7.6 and 7.7. */
export function summaryOf(values: Float64Array, coverage: number): Summary {
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
  return { u: Math.sqrt(squares / (trials - 1)), low, high }
}

/** Mean and sum of squares about it of figures that come one after another; B. P. Welford, Technometrics 4 (1962) 419 (from memory). */
class Running {
  n = 0
  mean = 0
  squares = 0

  take(value: number): void {
    this.n += 1
    const off = value - this.mean
    this.mean += off / this.n
    this.squares += off * (value - this.mean)
  }

  /** Standard deviation of the mean. */
  get error(): number {
    return Math.sqrt(this.squares / (this.n * (this.n - 1)))
  }
}

/**
 * What blocks of trials of one result say together: the means of their estimates, and how far these leave the ends of the interval
 * open.
 *
 *   y = mean(y_h),  s^2(y) = sum (y_h - y)^2 / (h (h - 1))
 *
 * Symbols: y_h the estimate of block h of h blocks: u (by its square) and the two ends. Source: JCGM 101:2008, 7.9.4, f) to k);
 * the ends are the means over the blocks and not of all trials put in order, which differ by a part of 1/M of u with M trials in a
 * block.
 */
export class BlockMeans {
  readonly #variance = new Running()
  readonly #low = new Running()
  readonly #high = new Running()

  take({ u, low, high }: Summary): void {
    this.#variance.take(u * u)
    this.#low.take(low)
    this.#high.take(high)
  }

  /** `numerical`: twice the standard deviation of the mean of the end that is known worse. */
  found(): Summary & { readonly numerical: number } {
    return {
      u: Math.sqrt(this.#variance.mean),
      low: this.#low.mean,
      high: this.#high.mean,
      numerical: 2 * Math.max(this.#low.error, this.#high.error),
    }
  }
}
