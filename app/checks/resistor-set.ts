import { at } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { chiSquaredQuantile } from '../statistics/chi-squared.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'

/** A ratio of two resistors of a set, as the bridge showed it; standard uncertainty in ratio. */
export interface ResistorRatio {
  readonly over: string
  readonly under: string
  readonly ratio: number
  readonly u: number
}

/** A resistor of the set whose value is known from elsewhere; relative standard uncertainty. */
export interface KnownResistor {
  readonly resistor: string
  readonly ohm: number
  readonly uRelative: number
}

export interface ResistorSet {
  readonly resistors: readonly { readonly name: string; readonly ohm: number; readonly uRelative: number }[]
  /** What is left of each ratio, and of each known value, relative; in the order given, ratios first. */
  readonly residuals: readonly number[]
  readonly chiSquared: number
  readonly degreesOfFreedom: number
  /** Chi-squared stays below its 95 % quantile, or nothing is left to judge by. */
  readonly agrees: boolean
}

/**
 * Several resistors compared with one another at once, by least squares over all ratios and known values.
 *
 *   ln R_a - ln R_b = ln n_ab;  ln R_s = ln(known);  u(ln n) = u(n)/n
 *
 * Symbols: R resistances, n ratios as shown. Where chi-squared over its degrees of freedom is above 1 the uncertainties grow by
 * its square root. Source: least squares with known values as observations, JCGM 100:2008, 4.3 and H.3; common practice, no
 * source for the arrangement.
 *
 * Throws ComparisonError 'not-determined' where no value is known, or a resistor is joined to none that is; 'bad-input' where a
 * resistor is over itself.
 */
export function compareResistors(
  ratios: readonly ResistorRatio[],
  known: readonly KnownResistor[],
): ResistorSet {
  const itself = ratios.find(({ over, under }) => over === under)
  if (itself) {
    throw new ComparisonError('bad-input', said('compared-with-itself', { over: itself.over }), {
      resistor: itself.over,
    })
  }
  const names = [...new Set([...known.map((k) => k.resistor), ...ratios.flatMap((r) => [r.over, r.under])])]
  const loose = unjoined(names, ratios, known)
  if (loose.length > 0) {
    throw new ComparisonError(
      'not-determined',
      said('no-way-from-a-known-resistor', { loose: loose.join(', ') }),
      { resistors: loose },
    )
  }
  const column = (name: string, sign: number) => names.map((n) => (n === name ? sign : 0))
  const rows = [
    ...ratios.map(({ over, under, ratio, u }) => ({
      x: column(over, 1).map((v, j) => v + at(column(under, -1), j)),
      y: Math.log(ratio),
      u: u / ratio,
    })),
    ...known.map(({ resistor, ohm, uRelative }) => ({
      x: column(resistor, 1),
      y: Math.log(ohm),
      u: uRelative,
    })),
  ]
  const fit = weightedLeastSquares(
    rows.map(({ x }) => x),
    rows.map(({ y }) => y),
    rows.map(({ u }) => 1 / (u * u)),
    { columnNames: names, weightsAre: 'absolute', aboutMean: false },
  )
  const { degreesOfFreedom, chiSquared } = fit
  const stretch = degreesOfFreedom > 0 ? Math.sqrt(Math.max(1, chiSquared / degreesOfFreedom)) : 1
  return {
    resistors: names.map((name, j) => ({
      name,
      ohm: Math.exp(at(fit.coefficients, j)),
      uRelative: at(fit.standardUncertainties, j) * stretch,
    })),
    residuals: [...fit.residuals],
    chiSquared,
    degreesOfFreedom,
    agrees: degreesOfFreedom < 1 || chiSquared <= chiSquaredQuantile(0.95, degreesOfFreedom),
  }
}

/** Resistors that no chain of ratios joins to a known one. */
function unjoined(
  names: readonly string[],
  ratios: readonly ResistorRatio[],
  known: readonly KnownResistor[],
): string[] {
  const reached = new Set(known.map(({ resistor }) => resistor))
  for (let before = -1; before !== reached.size; ) {
    before = reached.size
    for (const { over, under } of ratios) {
      if (reached.has(over)) reached.add(under)
      if (reached.has(under)) reached.add(over)
    }
  }
  return names.filter((name) => !reached.has(name))
}
