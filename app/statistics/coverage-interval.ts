import { at } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'
import { selectInPlace } from './selection.ts'

export interface CoverageIntervals {
  /** As much probability below as above. */
  readonly symmetric: readonly [number, number]
  /** The shortest that holds the probability. */
  readonly shortest: readonly [number, number]
}

interface Places {
  /** Places of the ends of the symmetric interval among the ordered values, from 0. */
  readonly low: number
  readonly high: number
  /** Values that lie between the ends of any coverage interval. */
  readonly q: number
}

function placesOf(count: number, coverage: number): Places {
  const exact = coverage * count
  const q = Math.abs(exact - Math.round(exact)) < 1e-9 * count ? Math.round(exact) : Math.floor(exact + 0.5)
  const r = Math.max(1, Math.floor((count - q + 1) / 2))
  if (!(q >= 1 && r + q <= count)) {
    throw new StatisticsError('too-few-values', said('too-few-trials', { count, coverage }), {
      count,
      coverage,
    })
  }
  return { low: r - 1, high: r + q - 1, q }
}

/**
 * Probabilistically symmetric coverage interval of a set of model values, by selection; the array is reordered.
 *
 *   [y_(r), y_(r+q)],  q = pM,  r = (M − q)/2
 *
 * Symbols  y_(r) r-th smallest of M values; p coverage probability
 * Source   JCGM 101:2008, 7.7.2
 * Valid    M large enough that r ≥ 1 and r + q ≤ M
 * Throws   StatisticsError 'too-few-values'
 */
export function symmetricInterval(values: Float64Array, coverage: number): readonly [number, number] {
  const { low, high } = placesOf(values.length, coverage)
  const from = selectInPlace(values, low)
  return [from, selectInPlace(values, high, low + 1)]
}

/**
 * Both coverage intervals of a set of model values; the array is reordered.
 *
 * Only the two tails in which an end can lie are put in order: for 95 % a twentieth of the values on each side.
 *
 *   shortest: r* such that y_(r*+q) − y_(r*) ≤ y_(r+q) − y_(r) for r = 1 .. M − q
 *
 * Symbols  as symmetricInterval
 * Source   JCGM 101:2008, 7.7.2 (symmetric) and 7.7.4 (shortest; number of the clause from memory)
 * Valid    as symmetricInterval
 * Throws   StatisticsError 'too-few-values'
 */
export function coverageIntervals(values: Float64Array, coverage: number): CoverageIntervals {
  const count = values.length
  const { low, high, q } = placesOf(count, coverage)
  const tail = count - q
  if (2 * tail >= count) values.sort()
  else {
    selectInPlace(values, tail - 1)
    selectInPlace(values, q, tail)
    values.subarray(0, tail).sort()
    values.subarray(q).sort()
  }
  const lengthFrom = (r: number) => values[r + q]! - values[r]!
  let best = 0
  for (let r = 1; r < tail; r++) {
    if (lengthFrom(r) < lengthFrom(best)) best = r
  }
  const between = (from: number, to: number) => [at(values, from), at(values, to)] as const
  return { symmetric: between(low, high), shortest: between(best, best + q) }
}
