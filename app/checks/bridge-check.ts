import { ComparisonError } from '../results/uncertainty-error.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'

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
    ({ departure }, i) => departure ** 2 / (pairs[i]!.ratio ** 2 + pairs[i]!.reciprocal ** 2),
  )
  return Math.sqrt(squares.reduce((sum, s) => sum + s, 0) / squares.length)
}

/** A ratio as the bridge showed it of two resistors whose ratio their certificates give. */
export interface KnownRatio {
  readonly name: string
  readonly ratio: number
  readonly u: number
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
 * Checks a ratio bridge against known ratios: the only way to see an error in proportion to the ratio itself. `linearityRatio`
 * is the root mean square of the errors; what is uncertain of the known ratios is in it. Common practice, no source.
 */
export function checkByKnownRatios(pairs: readonly KnownRatio[]): {
  readonly pairs: readonly KnownRatioResult[]
  readonly linearityRatio: number
} {
  const found = pairs.map(({ name, ratio, u, known, uKnown }) => {
    const error = ratio - known
    const expanded = COVERAGE_FACTOR * Math.hypot(u, uKnown)
    return { name, error, expanded, agrees: Math.abs(error) <= expanded }
  })
  return {
    pairs: found,
    linearityRatio: Math.sqrt(found.reduce((sum, { error }) => sum + error ** 2, 0) / found.length),
  }
}

/**
 * A network of some resistors of a small set: one alone, several in series, several in parallel, or parts in series that
 * are themselves networks.
 */
export type Network =
  | { readonly kind: 'one'; readonly resistor: string }
  | { readonly kind: 'series'; readonly parts: readonly Network[] }
  | { readonly kind: 'parallel'; readonly parts: readonly Network[] }

export interface NetworkReading {
  readonly network: Network
  /** Ratio of the network to the bridge's own reference, as shown. */
  readonly ratio: number
  /** Standard uncertainty of its repeatability, in ratio. */
  readonly u: number
}

/** 'a + b', 'a || (b + c)': as it is written on the sheet. */
export function networkWords(network: Network): string {
  if (network.kind === 'one') return network.resistor
  const sign = network.kind === 'series' ? ' + ' : ' || '
  const words = network.parts.map((p) => (p.kind === 'one' ? p.resistor : `(${networkWords(p)})`))
  return words.join(sign)
}

/** Value of a network and its derivative by each resistor, in units of the bridge's reference. */
export function networkValue(
  network: Network,
  values: Readonly<Record<string, number>>,
): { value: number; gradient: Readonly<Record<string, number>> } {
  if (network.kind === 'one') {
    const value = values[network.resistor]
    if (value === undefined || !(value > 0)) {
      throw new ComparisonError('bad-input', `Resistor ${network.resistor} has no value to begin with.`, {
        resistor: network.resistor,
      })
    }
    return { value, gradient: { [network.resistor]: 1 } }
  }
  const parts = network.parts.map((part) => networkValue(part, values))
  const gradient: Record<string, number> = {}
  if (network.kind === 'series') {
    for (const part of parts) {
      for (const [name, d] of Object.entries(part.gradient)) gradient[name] = (gradient[name] ?? 0) + d
    }
    return { value: parts.reduce((sum, p) => sum + p.value, 0), gradient }
  }
  const value = 1 / parts.reduce((sum, p) => sum + 1 / p.value, 0)
  for (const part of parts) {
    const weight = (value / part.value) ** 2
    for (const [name, d] of Object.entries(part.gradient)) gradient[name] = (gradient[name] ?? 0) + weight * d
  }
  return { value, gradient }
}

export interface BridgeErrors {
  /** Resistors found, in units of the bridge's reference. */
  readonly resistors: readonly { readonly name: string; readonly ratio: number; readonly u: number }[]
  /** Error of the bridge as b0 + b2 n^2 + b3 n^3 ..., in ratio; the term in n cannot be told from the resistors. */
  readonly terms: readonly {
    readonly power: number
    readonly value: number
    readonly u: number
    readonly shown: boolean
  }[]
  readonly rows: readonly {
    readonly name: string
    readonly ratio: number
    /** What the bridge shows less what the resistors make it, in ratio. */
    readonly error: number
    /** What is left after the terms. */
    readonly residual: number
  }[]
  readonly degreesOfFreedom: number
  /** Root mean square of the errors over the networks: what the bridge's record takes as linearity. */
  readonly linearityRatio: number
  /** Chi-squared over its degrees of freedom, from the readings' own repeatability. */
  readonly reducedChiSquared: number
}

const MOST_PASSES = 20

/**
 * Finds the errors of a ratio bridge from combinations of a few resistors, which need not be known: the networks of m
 * resistors obey more equations than there are resistors.
 *
 *   n_i = f_i(r_1 .. r_m) + b0 + b2 n_i^2 + b3 n_i^3
 *
 * Every network scales with its resistors, so an error in proportion to n cannot be told from another set of resistors:
 * interchange and a known ratio must show it. Least squares by Gauss-Newton on the resistors and the terms together.
 *
 * Throws ComparisonError 'not-determined' where there are not more readings than unknowns; StatisticsError where the
 * networks do not tell the terms apart.
 */
export function bridgeErrors(
  readings: readonly NetworkReading[],
  powers: readonly number[] = [0, 2],
): BridgeErrors {
  const names = [...new Set(readings.flatMap(({ network }) => resistorsOf(network)))]
  const unknowns = names.length + powers.length
  if (readings.length <= unknowns) {
    throw new ComparisonError(
      'not-determined',
      `${readings.length} networks cannot give ${names.length} resistors and ${powers.length} terms of the bridge's error; take at least ${unknowns + 1}.`,
      { readings: readings.length, unknowns },
    )
  }
  const values: Record<string, number> = Object.fromEntries(
    names.map((name) => {
      const alone = readings.find(({ network }) => network.kind === 'one' && network.resistor === name)
      if (!alone) {
        throw new ComparisonError(
          'bad-input',
          `Measure resistor ${name} alone as well: the search begins there.`,
          { name },
        )
      }
      return [name, alone.ratio]
    }),
  )
  const weights = readings.map(({ u }) => 1 / (u * u))
  const errorOf = (terms: readonly number[], n: number) =>
    terms.reduce((sum, b, k) => sum + b * n ** powers[k]!, 0)
  let terms = powers.map(() => 0)
  let fit: ReturnType<typeof weightedLeastSquares> | undefined
  for (let pass = 0; pass < MOST_PASSES; pass++) {
    const networks = readings.map(({ network }) => networkValue(network, values))
    const design = readings.map(({ ratio }, i) => [
      ...names.map((name) => networks[i]!.gradient[name] ?? 0),
      ...powers.map((power) => ratio ** power),
    ])
    const y = readings.map(({ ratio }, i) => ratio - networks[i]!.value)
    fit = weightedLeastSquares(design, y, weights, {
      columnNames: [...names, ...powers.map((p) => `n^${p}`)],
      weightsAre: 'absolute',
      aboutMean: false,
    })
    names.forEach((name, j) => {
      values[name] = values[name]! + fit!.coefficients[j]!
    })
    terms = fit.coefficients.slice(names.length)
    const largest = Math.max(...fit.coefficients.slice(0, names.length).map(Math.abs))
    if (largest < 1e-14) break
  }
  const solved = fit!
  const rows = readings.map(({ network, ratio }) => {
    const error = ratio - networkValue(network, values).value
    return { name: networkWords(network), ratio, error, residual: error - errorOf(terms, ratio) }
  })
  return {
    resistors: names.map((name, j) => ({ name, ratio: values[name]!, u: solved.standardUncertainties[j]! })),
    terms: powers.map((power, k) => {
      const u = solved.standardUncertainties[names.length + k]!
      return { power, value: terms[k]!, u, shown: Math.abs(terms[k]!) > COVERAGE_FACTOR * u }
    }),
    rows,
    degreesOfFreedom: solved.degreesOfFreedom,
    linearityRatio: Math.sqrt(rows.reduce((sum, r) => sum + r.error * r.error, 0) / rows.length),
    reducedChiSquared: solved.chiSquared / solved.degreesOfFreedom,
  }
}

function resistorsOf(network: Network): string[] {
  return network.kind === 'one' ? [network.resistor] : network.parts.flatMap(resistorsOf)
}

/** Every way to use some of a few resistors: each alone, and each set of two or more in series and in parallel. */
export function allNetworks(names: readonly string[]): Network[] {
  const networks: Network[] = []
  for (let mask = 1; mask < 1 << names.length; mask++) {
    const parts = names.flatMap((resistor, i): Network[] =>
      mask & (1 << i) ? [{ kind: 'one', resistor }] : [],
    )
    if (parts.length === 1) networks.push(parts[0]!)
    else networks.push({ kind: 'series', parts }, { kind: 'parallel', parts })
  }
  return networks
}
