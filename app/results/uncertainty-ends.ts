import { exactCoverage } from '../statistics/coverage.ts'
import { normalDensity } from '../statistics/normal.ts'
import { normalCdfFast } from '../statistics/normal-table.ts'
import { type Summary, summaryOf } from './uncertainty-trials.ts'

/** What blocks of trials of one result say of its standard deviation and of the ends of its interval. */
export interface BlockEnds {
  /** Takes a block; its trials may be put in another order. */
  of(block: Float64Array): Summary
}

/** Trials put in order: where all of a result's error is drawn. */
export function sortedEnds(coverage: number): BlockEnds {
  return { of: (block) => summaryOf(block, coverage) }
}

const MOST_STEPS = 40
/** Trials of the first block that say about where an end lies. */
const FIRST_LOOK = 1000
/** The first look is done when a step is less than this part of the normal part. */
const FOUND = 1e-3

/**
 * Ends of the interval of Z + G, Z drawn, G normal of known standard deviation s and not drawn: for each trial the probability that G
 * brings is known, and its mean over the trials scatters far less than a count of trials would.
 *
 *   F(x) = mean(Phi((x - Z_r) / s)),  F(low) = q,  F(high) = 1 - q,  u^2 = s^2 + s^2(Z)
 *
 * A part of the first block says about where the ends lie; each block has them by one step of Newton's from there, x - (F(x) - p) / f(x).
 *
 * Symbols: q half of what the interval leaves out, Phi the normal distribution function, f the density by the first block. Source:
 * conditional Monte Carlo, J. M. Hammersley, D. C. Handscomb, Monte Carlo Methods (1964), chapter 5 (from memory), for the
 * distribution of JCGM 101:2008, clause 7.
 */
export class NormalPartEnds implements BlockEnds {
  readonly #s: number
  readonly #tail: number
  readonly #start: number
  #found: { readonly low: End; readonly high: End } | null = null

  /** `start`: about half of the interval. */
  constructor(s: number, start: number, coverage: number) {
    this.#s = s
    this.#tail = (1 - exactCoverage(coverage)) / 2
    this.#start = start
  }

  of(block: Float64Array): Summary {
    this.#found ??= {
      low: this.#near(block, -this.#start, this.#tail),
      high: this.#near(block, this.#start, 1 - this.#tail),
    }
    const step = ({ at, density, p }: End) => at - (this.#below(block, at) - p) / density
    const { low, high } = this.#found
    return { u: Math.sqrt(this.#s ** 2 + varianceOf(block)), low: step(low), high: step(high) }
  }

  /** Probability of a value below x. */
  #below(block: Float64Array, x: number): number {
    const per = 1 / this.#s
    let sum = 0
    for (let k = 0; k < block.length; k++) sum += normalCdfFast((x - block[k]!) * per)
    return sum / block.length
  }

  #density(block: Float64Array, x: number): number {
    const per = 1 / this.#s
    let sum = 0
    for (let k = 0; k < block.length; k++) sum += normalDensity((x - block[k]!) * per)
    return (sum * per) / block.length
  }

  /** About where a share p lies below, by the first trials of a block, and the density there by all of them. */
  #near(block: Float64Array, start: number, p: number): End {
    const few = block.subarray(0, FIRST_LOOK)
    let at = start
    for (let i = 0; i < MOST_STEPS; i++) {
      // Far out in a tail the density is small: never further than one standard deviation of the normal part at once.
      const step = (this.#below(few, at) - p) / this.#density(few, at) / this.#s
      at -= Math.max(-1, Math.min(1, step)) * this.#s
      if (Math.abs(step) < FOUND) break
    }
    return { at, p, density: this.#density(block, at) }
  }
}

interface End {
  readonly at: number
  readonly p: number
  readonly density: number
}

function varianceOf(values: Float64Array): number {
  let sum = 0
  for (let k = 0; k < values.length; k++) sum += values[k]!
  const mean = sum / values.length
  let squares = 0
  for (let k = 0; k < values.length; k++) squares += (values[k]! - mean) ** 2
  return squares / (values.length - 1)
}
