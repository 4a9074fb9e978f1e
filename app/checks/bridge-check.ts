import { at } from '../base/lists.ts'
import type { Network } from './network.ts'

/** A ratio and its reciprocal, measured with the two resistors interchanged. */
export interface Interchange {
  readonly name: string
  readonly ratio: number
  readonly u: number
  readonly reciprocal: number
  readonly uReciprocal: number
}

export interface InterchangeResult {
  readonly name: string
  /** n(a, b) n(b, a) - 1: zero for a bridge without error, whatever the resistors are. */
  readonly departure: number
  readonly expanded: number
  readonly agrees: boolean
}

/** k of the statements below: about 95 %. */
const COVERAGE_FACTOR = 2

/**
 * Checks a ratio bridge by interchange: n(a, b) n(b, a) = 1.
 *
 *   u^2 = (n' u(n))^2 + (n u(n'))^2
 *
 * What the product shows is the sum of the relative errors at n and at 1/n; an error in proportion to the ratio itself
 * does show, one that is the same and opposite at n and 1/n does not. Common practice, no source.
 */
export function checkByInterchange(pairs: readonly Interchange[]): InterchangeResult[] {
  return pairs.map(({ name, ratio, u, reciprocal, uReciprocal }) => {
    const departure = ratio * reciprocal - 1
    const expanded = COVERAGE_FACTOR * Math.hypot(reciprocal * u, ratio * uReciprocal)
    return { name, departure, expanded, agrees: Math.abs(departure) <= expanded }
  })
}

/**
 * Standard uncertainty of linearity that an interchange supports, in ratio. Errors of one size s in ratio at n and at n'
 * make a product that departs from 1 by s sqrt(n^2 + n'^2), so that
 *
 *   s^2 = mean of d^2 / (n^2 + n'^2),  d = n n' - 1
 *
 * Noise is in d and is not taken off. Common practice, no source.
 */
export function linearityOfInterchange(pairs: readonly Interchange[]): number {
  const squares = checkByInterchange(pairs).map(
    ({ departure }, i) => departure ** 2 / (at(pairs, i).ratio ** 2 + at(pairs, i).reciprocal ** 2),
  )
  return Math.sqrt(squares.reduce((sum, s) => sum + s, 0) / squares.length)
}

/** A ratio as the bridge showed it of two resistors whose ratio their certificates give. */
export interface KnownRatio {
  readonly name: string
  readonly ratio: number
  readonly u: number
  /** 0: a zero reading. */
  readonly known: number
  readonly uKnown: number
}

export interface KnownRatioResult {
  readonly name: string
  /** Shown less known, in ratio. */
  readonly error: number
  readonly expanded: number
  readonly agrees: boolean
}

/**
 * Checks a ratio bridge against known ratios: the only way to see an error in proportion to the ratio itself. Common
 * practice, no source.
 */
export function checkByKnownRatios(pairs: readonly KnownRatio[]): KnownRatioResult[] {
  return pairs.map(({ name, ratio, u, known, uKnown }) => {
    const error = ratio - known
    const expanded = COVERAGE_FACTOR * Math.hypot(u, uKnown)
    return { name, error, expanded, agrees: Math.abs(error) <= expanded }
  })
}

export interface NetworkReading {
  readonly network: Network
  /** Ratio of the network to the bridge's own reference, as shown. */
  readonly ratio: number
  /** Standard uncertainty of its repeatability, in ratio. */
  readonly u: number
}
