import { at } from '../base/lists.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'

/** What a resistor was worth on a day; relative standard uncertainty. */
export interface DatedValue {
  readonly date: string
  readonly ohm: number
  readonly uRelative: number
}

/** A drift that is known apart from the values: a certificate states it. Relative per year, standard. */
export interface StatedDrift {
  readonly perYear: number
  readonly u: number
  readonly words: string
}

export interface ResistorDrift {
  /** Relative, per year of 365.25 days. */
  readonly perYear: number
  /** Standard. */
  readonly u: number
  /** What it rests on, and why it is less certain than what was known before where it is. */
  readonly words: string
}

const YEAR_MS = 365.25 * 86_400_000
const yearsOf = (date: string) => Date.parse(date) / YEAR_MS
const inMillion = (relative: number) => `${(relative * 1e6).toPrecision(2)} ppm`

/**
 * Drift of a resistor from all that is known of it: a line through its values by weighted least squares, with a stated drift
 * as one more observation of the slope.
 *
 *   minimise  sum (y_i - a - d t_i)^2 / u_i^2  +  (d - d_s)^2 / u_s^2
 *
 * Symbols: y_i value relative to the newest, t_i years before it, a its error, d drift, d_s and u_s the stated drift and its
 * standard uncertainty. Where the residuals are larger than the u_i say (chi-squared over its degrees of freedom above 1), the
 * uncertainty grows by its square root and the words say so; else it is never larger than u_s.
 * Source: prior knowledge as an observation of its own, JCGM 100:2008, 4.3 and H.3 for the line. Null where less than two
 * values and no stated drift are there.
 */
export function driftOf(values: readonly DatedValue[], stated: StatedDrift | null): ResistorDrift | null {
  const usable = values
    .filter(({ uRelative }) => uRelative > 0)
    .toSorted((a, b) => a.date.localeCompare(b.date))
  const last = usable.at(-1)
  const apart = usable.some(({ date }) => date !== last?.date)
  if (!last || !apart) {
    return stated && { perYear: stated.perYear, u: stated.u, words: `As ${stated.words} states.` }
  }
  const rows = [
    ...usable.map(({ date, ohm, uRelative }) => ({
      x: [1, yearsOf(date) - yearsOf(last.date)],
      y: ohm / last.ohm - 1,
      u: uRelative,
    })),
    ...(stated ? [{ x: [0, 1], y: stated.perYear, u: stated.u }] : []),
  ]
  const fit = weightedLeastSquares(
    rows.map(({ x }) => x),
    rows.map(({ y }) => y),
    rows.map(({ u }) => 1 / (u * u)),
    { columnNames: ['value', 'drift'], weightsAre: 'absolute', aboutMean: false },
  )
  const reduced = fit.degreesOfFreedom > 0 ? fit.chiSquared / fit.degreesOfFreedom : 1
  const u = at(fit.standardUncertainties, 1) * Math.sqrt(Math.max(1, reduced))
  const from = `From ${usable.length} values${stated ? ` and the drift that ${stated.words} states` : ''}.`
  const worse =
    stated && u > stated.u
      ? ` Less certain than the ${inMillion(stated.u)} a year stated before: the values lie ${Math.sqrt(reduced).toPrecision(2)} times farther from one line than they state.`
      : ''
  return { perYear: at(fit.coefficients, 1), u, words: from + worse }
}
