import { said } from '../messages/said.ts'
import type { Resistor, ResistorCalibration } from '../records/register.ts'
import { inForce } from '../records/register.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { resistorValue } from '../thermometry/resistor.ts'
import { type DatedValue, driftOf, type ResistorDrift, type StatedDrift } from './resistor-drift.ts'

/** The yearly comparison: a resistor measured as a ratio to a better one. */
export interface ResistorComparison {
  readonly date: string
  /** Ratio of the resistor to the better one, and its standard uncertainty with the bridge's own. */
  readonly ratio: number
  readonly uRatio: number
  readonly better: Resistor
  readonly resistor: Resistor
  readonly certificate: string
  readonly laboratory: string
}

export interface ResistorComparisonResult {
  readonly ohm: number
  /** Relative standard uncertainty. */
  readonly uRelative: number
  /** Against what the register led to expect on the day; null where it had no calibration. */
  readonly expected: {
    readonly ohm: number
    /** Relative difference, and its expanded uncertainty (k = 2). */
    readonly difference: number
    readonly expanded: number
    readonly agrees: boolean
  } | null
  /** Drift per year from all values with this one and the certificate's own drift; null where neither says any. */
  readonly drift: ResistorDrift | null
  /** The entry to add to the register. */
  readonly calibration: ResistorCalibration
}

const known = ({ certificate, date }: ResistorCalibration) => certificate || `the calibration of ${date}`

/** What a resistor was worth on a day, relative standard uncertainty. */
const valuesOf = (resistor: Resistor): DatedValue[] => [
  ...resistor.calibrations.map((c) => ({
    date: c.date,
    ohm: Number(c.ohm),
    uRelative: c.expandedRelative / c.k,
  })),
  ...(resistor.comparisons ?? [])
    .filter(({ calibration }) => calibration === undefined)
    .map(({ date, ohm, uRelative }) => ({ date, ohm: Number(ohm), uRelative })),
]

/** The drift that a certificate states by itself, of the newest calibration before a day; null where none does. */
function statedDrift(calibrations: readonly ResistorCalibration[], before: string): StatedDrift | null {
  const stating = inForce(
    calibrations.filter((c) => c.date < before && c.uDriftPerYear > 0 && !c.driftFromHistory),
    before,
  )
  return stating ? { perYear: stating.driftPerYear, u: stating.uDriftPerYear, words: known(stating) } : null
}

/**
 * Value of a reference resistor from its ratio to a better one, against what was expected, with a drift from its history.
 *
 *   R = n Rs;  u^2(R)/R^2 = u^2(n)/n^2 + u^2(Rs)/Rs^2
 *
 * Throws ComparisonError 'no-resistor' where the better resistor has no calibration in force on the day.
 */
export function compareResistor(comparison: ResistorComparison): ResistorComparisonResult {
  const { better, resistor, date, ratio, uRatio } = comparison
  const standard = inForce(better.calibrations, date)
  if (!standard) {
    throw new ComparisonError(
      'no-resistor',
      said('calibration-not-in-force', { better: better.name, date }),
      { resistor: better.id, date },
    )
  }
  const rs = resistorValue(standard, better.keptAtC, date, better.uKeptAtK)
  const ohm = ratio * rs.ohm
  const uRelative = Math.hypot(uRatio / ratio, rs.relativeUncertainty)
  const previous = inForce(resistor.calibrations, date)
  const was = previous && resistorValue(previous, resistor.keptAtC, date, resistor.uKeptAtK)
  const difference = was ? ohm / was.ohm - 1 : 0
  const expanded = was ? 2 * Math.hypot(uRelative, was.relativeUncertainty) : 0
  const bare: ResistorCalibration = {
    id: `${resistor.id}-${date}`,
    date,
    certificate: comparison.certificate,
    laboratory: comparison.laboratory,
    // Twelve digits: below a part in 1e11 nothing is known of a resistor.
    ohm: ohm.toPrecision(12),
    celsius: resistor.keptAtC,
    alphaPerK: previous?.alphaPerK ?? 0,
    betaPerK2: previous?.betaPerK2 ?? 0,
    driftPerYear: 0,
    expandedRelative: 2 * uRelative,
    k: 2,
    uDriftPerYear: previous?.uDriftPerYear ?? 0,
  }
  const drift = driftOf(
    [...valuesOf(resistor).filter((v) => v.date < date), { date, ohm, uRelative }],
    statedDrift(resistor.calibrations, date),
  )
  return {
    ohm,
    uRelative,
    expected: was ? { ohm: was.ohm, difference, expanded, agrees: Math.abs(difference) <= expanded } : null,
    drift,
    calibration: drift
      ? { ...bare, driftPerYear: drift.perYear, uDriftPerYear: drift.u, driftFromHistory: true }
      : bare,
  }
}
