import type { Resistor, ResistorCalibration } from '../records/register.ts'
import { inForce } from '../records/register.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'
import { resistorValue } from '../thermometry/resistor.ts'

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
  /** Drift per year from all calibrations with this one; null with fewer than two. */
  readonly drift: { readonly perYear: number; readonly u: number } | null
  /** The entry to add to the register. */
  readonly calibration: ResistorCalibration
}

const YEAR_MS = 365.25 * 86_400_000
const yearsOf = (date: string) => Date.parse(date) / YEAR_MS

/** Line through the calibrated values over the years, relative to the newest; its own scatter or the certificates', whichever is larger. */
function driftOf(calibrations: readonly ResistorCalibration[]): ResistorComparisonResult['drift'] {
  if (calibrations.length < 2) return null
  const last = calibrations.at(-1)!
  const reference = Number(last.ohm)
  const design = calibrations.map((c) => [1, yearsOf(c.date) - yearsOf(last.date)])
  const y = calibrations.map((c) => Number(c.ohm) / reference - 1)
  const weights = calibrations.map((c) => (c.k / c.expandedRelative) ** 2)
  const fit = weightedLeastSquares(design, y, weights, {
    columnNames: ['value', 'drift'],
    weightsAre: 'absolute',
  })
  const stretch = fit.degreesOfFreedom > 0 ? Math.sqrt(Math.max(1, fit.chiSquared / fit.degreesOfFreedom)) : 1
  return { perYear: fit.coefficients[1]!, u: fit.standardUncertainties[1]! * stretch }
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
      `${better.name} has no calibration in force on ${date}. Enter its certificate in the register.`,
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
  const history = resistor.calibrations
    .filter((c) => c.date < date)
    .toSorted((a, b) => a.date.localeCompare(b.date))
  const drift = driftOf([...history, bare])
  return {
    ohm,
    uRelative,
    expected: was ? { ohm: was.ohm, difference, expanded, agrees: Math.abs(difference) <= expanded } : null,
    drift,
    calibration: drift ? { ...bare, driftPerYear: drift.perYear, uDriftPerYear: drift.u } : bare,
  }
}
