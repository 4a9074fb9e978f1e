import { first, last, needed, zip } from '../../base/lists.ts'
import { wishFor } from '../../records/session.ts'
import {
  type Analysis,
  type PointResult,
  type ThermometerResult,
  tableTemperatures,
} from '../../results/analysis.ts'
import { calibrationMk, preparedFor } from '../../results/analysis-channel.ts'
import { deviationFromStandardMk } from '../../results/conformity.ts'
import { prepare } from '../../thermometry/convert.ts'
import { NumberBook } from '../numbers.ts'

/** Temperatures at which the digital certificate states the relation and the parts of its uncertainty. */
const RANGE_STEPS = 20

/** Significant digits of a covariance: enough that U computed from it has the report's digits. */
const COVARIANCE_DIGITS = 10

export const unitOfSignal = ({ signalUnit }: ThermometerResult) => (signalUnit === 'ohm' ? 'Ω' : 'mV')

/** Points that a certificate states: those of the comparison, whether they took part in the fit or not. */
export const statedPoints = (result: ThermometerResult): readonly PointResult[] =>
  result.points.filter((p) => !p.pair.cell)

/** Whether signals stand both at the measuring current and at zero current. */
export const hasBothSignals = (result: ThermometerResult): boolean =>
  result.signalUnit === 'ohm' && result.selfHeating === 'zero-current'

/** Temperature by the standard's reference function from a signal; null where the kind has none. */
function standardOf({ record }: ThermometerResult): ((signal: number) => number) | null {
  const { kind, nominalOhm = 100, thermocoupleType } = record.thermometer
  if (kind === 'prt') return (ohm) => deviationFromStandardMk(ohm, nominalOhm, 0) * 1e-3
  if (kind !== 'thermocouple' || !thermocoupleType) return null
  const type = prepare({ kind: 'thermocouple', type: thermocoupleType })
  return (mv) => type.toTemperature(mv).value
}

/** What is at a point under `point.<place>`: temperature, signals, deviation, each with its U. */
function addPoints(result: ThermometerResult, book: NumberBook): void {
  const unit = unitOfSignal(result)
  const standard = standardOf(result)
  const nominal = result.coefficients.find((c) => c.name === 'rWtp')?.value
  statedPoints(result).forEach((point, i) => {
    const { pair, budget } = point
    const key = `point.${i + 1}`
    const perMk = Math.abs(pair.underTest.signal / pair.underTestMkPerRelative)
    const { expanded, k } = budget
    const asSignal = { unit, expanded: expanded * perMk, k }
    book.add(`${key}.t90`, {
      name: 'Reference temperature',
      value: pair.referenceC,
      unit: '°C',
      roundLike: expanded * 1e-3,
    })
    book.add(`${key}.signal`, { name: 'Signal', value: pair.underTest.signal, ...asSignal })
    book.add(`${key}.measured`, {
      name: 'Signal at the measuring current',
      value: pair.underTest.measuredSignal,
      ...asSignal,
    })
    book.add(`${key}.u`, { name: 'Expanded uncertainty', value: expanded, unit: 'mK', expanded, k })
    if (standard) {
      const shown = standard(pair.underTest.measuredSignal)
      const value = (shown - pair.referenceC) * 1e3
      book.add(`${key}.deviation`, { name: 'Deviation', value, unit: 'mK', expanded, k })
    }
    if (nominal !== undefined) {
      const value = pair.underTest.signal / nominal
      const roundLike = (expanded * perMk) / nominal
      book.add(`${key}.ratio`, { name: 'W', value, unit: '1', roundLike })
    }
    const judged = result.conformity?.points.find((c) => c.point === pair.point)
    if (judged)
      book.add(`${key}.tolerance`, {
        name: 'Tolerance',
        value: judged.toleranceMk,
        unit: 'mK',
        roundLike: 10,
      })
    book.add(`${key}.residual`, {
      name: 'Residual',
      value: point.residualMk,
      unit: 'mK',
      roundLike: expanded,
    })
  })
}

function addCoefficients(result: ThermometerResult, book: NumberBook): void {
  const { coefficients, fit } = result
  for (const { name, value, unit, budget } of coefficients) {
    const { expanded, k } = budget
    book.add(`coefficient.${name}`, { name, value, unit, expanded, k, extraPlaces: 3 })
  }
  const names = coefficients.map((c) => c.name)
  for (const [a, row] of zip(names, needed(fit, 'fit').covariance(names))) {
    for (const [b, value] of zip(names, row)) {
      book.entries[`covariance.${a}:${b}`] = {
        name: `Covariance of ${a} and ${b}`,
        value: value.toPrecision(COVARIANCE_DIGITS),
        unit: '',
        uncertainty: null,
        k: null,
        exact: value,
      }
    }
  }
}

/** Temperatures of the range in steps that a reader can use. */
export function rangeTemperatures(result: ThermometerResult): number[] {
  const low = first(result.band).celsius
  const high = last(result.band).celsius
  const at = (i: number) => Number((low + ((high - low) * i) / RANGE_STEPS).toFixed(3))
  return [...new Set(Array.from({ length: RANGE_STEPS + 1 }, (_, i) => at(i)))]
}

/** The relation at temperatures of the range: signal, U, and what U is made of beyond the covariance. */
function addRange(
  result: ThermometerResult,
  book: NumberBook,
  prefix: string,
  temperatures: readonly number[],
) {
  const fit = needed(result.fit, 'fit')
  const unit = unitOfSignal(result)
  const throughPoints = new Set(fit.sources.map((s) => s.component))
  for (const celsius of temperatures) {
    const { value, dValueDInput } = fit.prepared.toSignal(celsius)
    const { expanded, k, degreesOfFreedom, lines } = fit.atTemperature(celsius)
    const key = `${prefix}.${celsius}`
    const roundLike = Math.abs(expanded * 1e-3 * dValueDInput)
    book.add(`${key}.signal`, { name: 'Signal', value, unit, roundLike })
    book.add(`${key}.u`, { name: 'Expanded uncertainty', value: expanded, unit: 'mK', expanded, k })
    const beyond = Math.hypot(...lines.filter((l) => !throughPoints.has(l.component)).map((l) => l.u))
    const exactly = (what: string, name: string, of: number, of_: string) => {
      const text = of === 0 ? '0' : of.toPrecision(6)
      book.entries[`${key}.${what}`] = { name, value: text, unit: of_, uncertainty: null, k: null, exact: of }
    }
    exactly('beyond', 'Standard uncertainty of the interpolation', beyond, 'mK')
    exactly('freedom', 'Effective degrees of freedom', Math.min(degreesOfFreedom, MOST_FREEDOM), '1')
  }
}

/** Degrees of freedom beyond which k no longer changes in its printed digits. */
const MOST_FREEDOM = 1e6

/** Change since the calibration in force before, at each point. */
function addChange(result: ThermometerResult, book: NumberBook): void {
  const { calibration } = result.record
  const earlier = preparedFor(result.record)
  if (!calibration || !earlier) return
  statedPoints(result).forEach(({ pair, budget }, i) => {
    const { signal, measuredSignal } = pair.underTest
    const shown = earlier.toTemperature(calibration.atZeroCurrent === false ? measuredSignal : signal)
    if (shown.marks.length > 0 || !Number.isFinite(shown.value)) return
    const value = (shown.value - pair.referenceC) * 1e3
    const expanded = 2 * Math.hypot(budget.u, calibrationMk(calibration.uncertainty, pair.referenceC))
    book.add(`change.${i + 1}`, { name: 'Change', value, unit: 'mK', expanded, k: 2 })
  })
}

/** Every number that the certificate of a thermometer states, under keys without an id of the program. */
export function itemNumbers(result: ThermometerResult, analysis: Analysis): NumberBook {
  const book = new NumberBook()
  book.add('coverage-probability', {
    name: 'Coverage probability',
    value: analysis.options.coverageProbability,
    unit: '1',
    roundLike: 0.01,
  })
  if (!result.fit) return book
  addPoints(result, book)
  addCoefficients(result, book)
  addRange(result, book, 'range', rangeTemperatures(result))
  const step = stepOf(result, analysis)
  if (step !== null) addRange(result, book, 'table', tableOf(result, step))
  addChange(result, book)
  return book
}

/** Step of the interpolation table that was asked for; null: none was. */
export const stepOf = ({ record }: ThermometerResult, { decisions }: Analysis): number | null =>
  wishFor(decisions.setup, record.thermometer.id)?.tableStepK ?? null

/** Temperatures of that table: whole multiples of the step over the range. */
export const tableOf = ({ band }: ThermometerResult, step: number): number[] =>
  tableTemperatures(first(band).celsius, last(band).celsius, step)
