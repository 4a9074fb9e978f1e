import { inForce, type Thermometer, type ThermometerCalibration } from '../records/register.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'
import { prepare } from '../thermometry/convert.ts'
import { monthsAfter } from './next-due.ts'

/** What a calibration makes of a thermometer against its first one, over the temperatures both reach. */
export interface LifeCurve {
  readonly calibration: string
  readonly date: string
  readonly certificate: string
  readonly laboratory: string
  readonly points: readonly {
    readonly celsius: number
    /** Temperature by this calibration less that by the first, for the same thermometer, mK. */
    readonly differenceMk: number
    /** k = 2; both certificates'. */
    readonly expandedMk: number
  }[]
}

/** Where a thermometer is foretold to be by its own history. */
export interface LifeForecast {
  readonly celsius: number
  readonly mkPerYear: number
  /** Standard. */
  readonly uMkPerYear: number
  /** The day it is due, or a year after the newest calibration. */
  readonly date: string
  /** From the newest calibration to that day, and its expanded uncertainty (k = 2). */
  readonly movedMk: number
  readonly expandedMk: number
}

export interface Life {
  readonly curves: readonly LifeCurve[]
  readonly forecast: readonly LifeForecast[]
  /** How long an interval its own history supports, as advice, with the rule; null where it is too short to tell. */
  readonly advice: { readonly months: number; readonly words: string } | null
}

const STEPS = 6
const YEAR_MS = 365.25 * 86_400_000
const MONTH_YEARS = 1 / 12
/** No interval longer than this is advised, however still a thermometer stood; common practice, no source. */
const MOST_MONTHS = 60
/** Two calibrations make a line but say nothing of its scatter. */
const LEAST_FOR_ADVICE = 3

const uMkAt = ({ uncertainty }: ThermometerCalibration, celsius: number): number => {
  if (!uncertainty) return 0
  const points = uncertainty.points.toSorted((a, b) => a.celsius - b.celsius)
  const above = points.findIndex((p) => p.celsius >= celsius)
  const [low, high] = [points[above - 1] ?? points.at(above < 0 ? -1 : 0)!, points.at(above)!]
  const part = high.celsius === low.celsius ? 0 : (celsius - low.celsius) / (high.celsius - low.celsius)
  return (low.expandedMk + part * (high.expandedMk - low.expandedMk)) / uncertainty.k
}

function curveAgainst(first: ThermometerCalibration, own: ThermometerCalibration): LifeCurve {
  const [from, to] = [prepare(first.conversion), prepare(own.conversion)]
  const low = Math.max(first.lowC, own.lowC)
  const high = Math.min(first.highC, own.highC)
  const celsius =
    high > low ? Array.from({ length: STEPS + 1 }, (_, i) => low + ((high - low) * i) / STEPS) : []
  const { id, date, certificate, laboratory } = own
  return {
    calibration: id,
    date,
    certificate,
    laboratory,
    points: celsius.map((t) => {
      const { value, dValueDInput } = from.toSignal(t)
      return {
        celsius: t,
        differenceMk: ((value - to.toSignal(t).value) / dValueDInput) * 1e3,
        expandedMk: own === first ? 2 * uMkAt(own, t) : 2 * Math.hypot(uMkAt(first, t), uMkAt(own, t)),
      }
    }),
  }
}

/** A line through what the calibrations say at one temperature, by weighted least squares; stretched where they scatter more. */
function lineAt(
  calibrations: readonly ThermometerCalibration[],
  curves: readonly LifeCurve[],
  celsius: number,
) {
  const last = calibrations.at(-1)!
  const rows = curves.flatMap((curve, i) => {
    const at = curve.points.find((p) => Math.abs(p.celsius - celsius) < 1e-6)
    const u = uMkAt(calibrations[i]!, celsius)
    const years = (Date.parse(curve.date) - Date.parse(last.date)) / YEAR_MS
    return at && u > 0 ? [{ years, mk: at.differenceMk, u }] : []
  })
  if (rows.length < 2 || rows.every(({ years }) => years === rows[0]!.years)) return undefined
  const fit = weightedLeastSquares(
    rows.map(({ years }) => [1, years]),
    rows.map(({ mk }) => mk),
    rows.map(({ u }) => 1 / (u * u)),
    { columnNames: ['value', 'drift'], weightsAre: 'absolute', aboutMean: false },
  )
  const stretch = fit.degreesOfFreedom > 0 ? Math.sqrt(Math.max(1, fit.chiSquared / fit.degreesOfFreedom)) : 1
  const [[vv, vd], [, dd]] = fit.covariance as [[number, number], [number, number]]
  return {
    mkPerYear: fit.coefficients[1]!,
    uMkPerYear: fit.standardUncertainties[1]! * stretch,
    /** Standard uncertainty of the foretold value so many years after the newest. */
    uAfter: (years: number) => stretch * Math.sqrt(Math.max(0, vv + 2 * years * vd + years * years * dd)),
  }
}

/**
 * The life of a thermometer from its calibrations: each against the first, over the temperatures all reach; the drift foretold
 * to the next due date by a line through all of them; and the longest interval over which the foretold drift, with twice its
 * uncertainty, stays within the expanded uncertainty of the newest certificate.
 *
 * Source of the rule: intervals from a thermometer's own history are method 2 (control chart) of ILAC-G24 (name of the
 * method from memory); its size, U of the certificate: common practice, no source. It is advice: who answers for the
 * thermometer decides.
 */
export function lifeOf(thermometer: Thermometer): Life {
  const calibrations = thermometer.calibrations.toSorted((a, b) => a.date.localeCompare(b.date))
  const [first] = calibrations
  const last = calibrations.at(-1)
  if (!first || !last) return { curves: [], forecast: [], advice: null }
  const low = Math.max(...calibrations.map((c) => c.lowC))
  const high = Math.min(...calibrations.map((c) => c.highC))
  const alike = high > low ? calibrations.map((c) => ({ ...c, lowC: low, highC: high })) : calibrations
  const curves = alike.map((own) => curveAgainst(alike[0]!, own))
  const places = high > low ? curves[0]!.points.map((p) => p.celsius) : []
  const due = inForce(calibrations, '9999-12-31')?.due ?? monthsAfter(last.date, 12)
  const years = (Date.parse(due) - Date.parse(last.date)) / YEAR_MS
  const lines = places.flatMap((celsius) => {
    const line = lineAt(alike, curves, celsius)
    return line ? [{ celsius, line }] : []
  })
  return {
    curves,
    forecast: lines.map(({ celsius, line }) => ({
      celsius,
      mkPerYear: line.mkPerYear,
      uMkPerYear: line.uMkPerYear,
      date: due,
      movedMk: line.mkPerYear * years,
      expandedMk: 2 * line.uAfter(years),
    })),
    advice: calibrations.length < LEAST_FOR_ADVICE ? null : adviceOf(last, lines),
  }
}

function adviceOf(
  last: ThermometerCalibration,
  lines: readonly { celsius: number; line: NonNullable<ReturnType<typeof lineAt>> }[],
): Life['advice'] {
  if (lines.length === 0) return null
  const holds = (months: number) =>
    lines.every(({ celsius, line }) => {
      const years = months * MONTH_YEARS
      return Math.abs(line.mkPerYear) * years + 2 * line.uMkPerYear * years <= 2 * uMkAt(last, celsius)
    })
  let months = 0
  while (months < MOST_MONTHS && holds(months + 1)) months++
  const rule =
    'Rule: the drift of its own calibrations, with twice its uncertainty, is to stay within the expanded uncertainty of the newest certificate until then.'
  const words =
    months === 0
      ? `Its history supports no interval of a month: it moves by more than its certificate states. ${rule}`
      : `Its history supports an interval of ${months} months${months === MOST_MONTHS ? ' or more' : ''}. ${rule} Advice only: who answers for the thermometer decides.`
  return { months, words }
}
