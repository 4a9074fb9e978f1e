import { said } from '../messages/said.ts'
import type { TAKEN_OUT } from '../records/register.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import type { Interchange, KnownRatio, NetworkReading } from './bridge-check.ts'
import { resistorsAlone } from './bridge-terms.ts'
import { networkValue, networkWords, resistorsOf } from './network.ts'
import { type Functional, type Observation, smoothPosterior } from './smooth-posterior.ts'

/** What a ratio bridge was checked with; any of the three, or all together. */
export interface BridgeEvidence {
  readonly interchanges: readonly Interchange[]
  readonly networks: readonly NetworkReading[]
  readonly known: readonly KnownRatio[]
}

/** A part of the error that the evidence cannot tell from something else, so that it is no part of the curve. */
export type TakenOut = (typeof TAKEN_OUT)[number]

export const TAKEN_OUT_WORDS: Readonly<Record<TakenOut, string>> = {
  'in-proportion':
    'An error in proportion to the ratio is not in it: combinations cannot tell it from other resistors. Two resistors interchanged or known ratios show it.',
  'opposite-at-reciprocals':
    'An error that is the same part of the ratio and opposite at n and at 1/n is not in it: interchange cannot show it. Combinations and known ratios do.',
}

export interface CurvePoint {
  /** As the bridge shows it. */
  readonly ratio: number
  /** Shown less true, in ratio. */
  readonly error: number
  /** Standard. */
  readonly u: number
}

export interface BridgeCurve {
  /** Over the range of what was checked, evenly. */
  readonly curve: readonly CurvePoint[]
  /** At the very ratios that were checked, by name. */
  readonly checked: readonly (CurvePoint & { readonly name: string })[]
  /** Resistors of the combinations in units of the bridge's reference, where there were any. */
  readonly resistors: readonly { readonly name: string; readonly ratio: number; readonly u: number }[]
  readonly takenOut: readonly TakenOut[]
  /** Root mean square of the error over the checked ratios, what is uncertain of it included. */
  readonly linearityRatio: number
}

const STEPS = 40
/** Resistors this far from where they were taken to be make the networks bend: the search goes on from there. */
const FAR = 1e-6
const MOST_PASSES = 4

/** No reciprocal of a ratio is formed below this: it is a zero that shows a few of its last digits. */
const LEAST_RATIO = 1e-4

/** Ratios over the range of what was checked, evenly; `asRatios`: as far below 1 as above it, with the zero by itself. */
function along(ratios: readonly number[], asRatios: boolean): number[] {
  const own = asRatios ? ratios.filter((n) => n > LEAST_RATIO) : ratios
  const [low, high] = [Math.min(...own), Math.max(...own)]
  const zeros = asRatios ? ratios.filter((n) => n <= LEAST_RATIO).toSorted((a, b) => a - b) : []
  if (high <= low) return [...zeros, low]
  const even = Array.from({ length: STEPS + 1 }, (_, i) =>
    asRatios ? low * (high / low) ** (i / STEPS) : low + ((high - low) * i) / STEPS,
  )
  return [...zeros, ...even]
}

/** Slope of a line through zero, by least squares over some ratios: what an error in proportion to the ratio amounts to. */
const proportion = (ratios: readonly number[]): Functional => {
  const squares = ratios.reduce((sum, n) => sum + n * n, 0)
  return ratios.map((n) => ({ at: n, weight: n / squares }))
}

/** Relative errors at n and at 1/n, their mean, as an error in ratio at n. */
const symmetric = (n: number): Functional => [
  { at: n, weight: 0.5 },
  { at: 1 / n, weight: 0.5 * n * n },
]

/**
 * The error of a ratio bridge over the ratio, from all that was measured to check it: interchange, combinations, known
 * ratios and the zero in one picture.
 *
 *   shown(n) = n + e(n) + noise
 *   interchange   n n' - 1 = n' e(n) + n e(n');  known ratio  shown - known = e(n);  combination  shown_i = f_i(r) + e(n_i)
 *
 * e is a smooth curve that nothing is said of beforehand but that it is smooth; how large and how smooth, and whether the
 * readings scatter more than they state, is judged from the readings themselves (see smoothPosterior). The resistors r are
 * unknown. What cannot be told apart is taken out of the curve and named: with combinations alone the line through zero,
 * with interchange alone what is opposite at n and 1/n.
 * Source: combinations, D. R. White and others, IEEE Trans. Instrum. Meas. 46 (1997) 1068 (from memory); interchange and
 * known ratios: common practice, no source.
 *
 * Throws ComparisonError 'not-determined' | 'bad-input'.
 */
export function bridgeCurve(evidence: BridgeEvidence): BridgeCurve {
  const { interchanges, networks, known } = evidence
  requireEnough(evidence)
  const values = resistorsAlone(networks)
  const names = Object.keys(values)
  // A zero says what is shown of nothing: it cannot tell an error in proportion to the ratio, nor what is opposite at n and 1/n.
  const told = known.filter((pair) => pair.known > 0)
  const onlyInterchange = interchanges.length > 0 && networks.length === 0 && told.length === 0
  const onlyNetworks = networks.length > 0 && interchanges.length === 0 && told.length === 0
  const places = checkedPlaces(evidence)
  const ratios = places.map(({ ratio }) => ratio)
  const line = onlyNetworks ? proportion(ratios) : []
  const functionalAt = (n: number): Functional =>
    onlyInterchange && n > LEAST_RATIO
      ? symmetric(n)
      : [{ at: n, weight: 1 }, ...line.map(({ at, weight }) => ({ at, weight: -n * weight }))]
  const at = along(ratios, onlyInterchange)
  let found = smoothPosterior(observationsOf(evidence, names, values), [...ratios, ...at].map(functionalAt))
  for (let pass = 1; pass < MOST_PASSES && found.unknowns.some(({ mean }) => Math.abs(mean) > FAR); pass++) {
    names.forEach((name, j) => {
      values[name] = values[name]! + found.unknowns[j]!.mean
    })
    found = smoothPosterior(observationsOf(evidence, names, values), [...ratios, ...at].map(functionalAt))
  }
  const point = (ratio: number, i: number): CurvePoint => ({ ratio, error: found.means[i]!, u: found.us[i]! })
  const checked = places.map(({ name, ratio }, i) => ({ name, ...point(ratio, i) }))
  return {
    checked,
    curve: at.map((ratio, i) => point(ratio, places.length + i)),
    resistors: names.map((name, j) => ({
      name,
      ratio: values[name]! + found.unknowns[j]!.mean,
      u: found.unknowns[j]!.u,
    })),
    takenOut: [
      ...(onlyNetworks ? (['in-proportion'] as const) : []),
      ...(onlyInterchange ? (['opposite-at-reciprocals'] as const) : []),
    ],
    linearityRatio: Math.sqrt(
      checked.reduce((sum, { error, u }) => sum + error ** 2 + u ** 2, 0) / checked.length,
    ),
  }
}

/** Throws ComparisonError 'not-determined' where what was measured says nothing of the bridge. */
function requireEnough({ interchanges, networks, known }: BridgeEvidence): void {
  const resistors = new Set(networks.flatMap(({ network }) => resistorsOf(network))).size
  if (networks.length > 0 && networks.length <= resistors + 1) {
    throw new ComparisonError(
      'not-determined',
      said('too-few-combinations', { combinations: networks.length, resistors, least: resistors + 2 }),
      { networks: networks.length, resistors },
    )
  }
  if (networks.length + interchanges.length + known.length === 0) {
    throw new ComparisonError('bad-input', said('no-ratio', {}))
  }
}

/** Everything measured as weighted sums of the error's values, around resistors as they are taken to be. */
function observationsOf(
  { interchanges, networks, known }: BridgeEvidence,
  names: readonly string[],
  values: Readonly<Record<string, number>>,
): Observation[] {
  const none = names.map(() => 0)
  return [
    ...interchanges.map(({ ratio, u, reciprocal, uReciprocal }) => ({
      of: [
        { at: ratio, weight: reciprocal },
        { at: reciprocal, weight: ratio },
      ],
      value: ratio * reciprocal - 1,
      u: Math.hypot(reciprocal * u, ratio * uReciprocal),
      unknowns: none,
    })),
    ...known.map(({ ratio, u, known: value, uKnown }) => ({
      of: [{ at: ratio, weight: 1 }],
      value: ratio - value,
      u: Math.hypot(u, uKnown),
      unknowns: none,
    })),
    ...networks.map(({ network, ratio, u }) => {
      const { value, gradient } = networkValue(network, values)
      return {
        of: [{ at: ratio, weight: 1 }],
        value: ratio - value,
        u,
        unknowns: names.map((name) => gradient[name] ?? 0),
      }
    }),
  ]
}

/** Every ratio that was read, with its name; of an interchange both. */
function checkedPlaces({ interchanges, networks, known }: BridgeEvidence): { name: string; ratio: number }[] {
  return [
    ...networks.map(({ network, ratio }) => ({ name: networkWords(network), ratio })),
    ...known.map(({ name, ratio }) => ({ name, ratio })),
    ...interchanges.flatMap(({ name, ratio, reciprocal }) => [
      { name, ratio },
      { name: `${name}, interchanged`, ratio: reciprocal },
    ]),
  ]
}
