import type { Conversion } from '../kinds/conversion.ts'
import { asTold, said } from '../messages/said.ts'
import type { Thermometer, ThermometerCalibration, WtpEntry } from '../records/register.ts'
import type { Analysis, ThermometerResult } from './analysis.ts'
import type { ChannelRecord } from './analysis-channel.ts'
import type { PairFit } from './analysis-fit.ts'
import { scaleRelative } from './reference-side.ts'
import { ComparisonError } from './uncertainty-error.ts'
import type { WtpComparison } from './wtp.ts'

/** R(WTP) of a thermometer as a session measured it. */
export interface MeasuredWtp {
  readonly thermometer: string
  readonly name: string
  readonly entry: WtpEntry
  readonly comparison: WtpComparison
}

const meanOf = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length

/**
 * The register's entry of a session's R(WTP): the mean of what was measured, or what was measured last where it changed by
 * more than its uncertainty, for that is what the thermometer has now. The uncertainty is that of the value in ohm: with
 * repeatability and cell also the resistor's and the bridge's, which cancel in W but not here.
 */
function entryOf(record: ChannelRecord, found: WtpComparison, analysis: Analysis): WtpEntry {
  const { date, input } = analysis
  const after = found.measurements.filter((m) => m.when === 'after')
  const used = found.changed && after.length > 0 ? after : found.measurements
  const ohm = meanOf(used.map((m) => m.ohm))
  const uOhm = Math.hypot(Math.max(...used.map((m) => m.uOhm)), ohm * scaleRelative(record, ohm, date))
  const change =
    found.changeMk === null
      ? 'measured once'
      : `${found.changeMk.toFixed(2)} mK between before and after (U ${found.expandedChangeMk!.toFixed(2)} mK)`
  return {
    date,
    // Eleven digits: below a part in 1e10 nothing is known of a thermometer.
    ohm: ohm.toPrecision(11),
    uOhm: Number(uOhm.toPrecision(3)),
    session: input.info.id,
    note: `own cell; ${change}${found.changed ? '; the value after is taken' : ''}`,
  }
}

/** R(WTP) of the reference and of the thermometers under test, of those whose session measured it. */
export function measuredWtp(analysis: Analysis): MeasuredWtp[] {
  const all = [
    { record: analysis.reference.record, found: analysis.referenceWtp },
    ...analysis.thermometers.map(({ record, wtp }) => ({ record, found: wtp })),
  ]
  return all.flatMap(({ record, found }) =>
    found
      ? [
          {
            thermometer: record.thermometer.id,
            name: record.thermometer.name,
            entry: entryOf(record, found, analysis),
            comparison: found,
          },
        ]
      : [],
  )
}

/** What a register may take of a session, and how far its report has come. */
export interface SessionEntries {
  readonly wtp: readonly MeasuredWtp[]
  /** Version of the report as it stands, and whether it is signed off. */
  readonly version: number
  readonly signed: boolean
  /** Number of the job, which is the report's; null: the report bears the session's. */
  readonly job: string | null
}

export function sessionEntries(analysis: Analysis): SessionEntries {
  const { versions, signOff, setup } = analysis.decisions
  return {
    wtp: measuredWtp(analysis),
    version: versions.at(-1)!.version,
    signed: signOff !== null,
    job: setup.job?.number ?? null,
  }
}

/** A calibration made by a fit, and the R(WTP) that belongs to it. */
export interface CalibrationOfFit {
  readonly thermometer: { readonly id: string; readonly name: string }
  readonly calibration: ThermometerCalibration
  readonly wtp: WtpEntry | null
}

/** A thermometer's entry with an R(WTP) in its history; one of the same session is replaced, not doubled. */
export function withWtp(thermometer: Thermometer, entry: WtpEntry): Thermometer {
  const others = thermometer.wtpHistory.filter((e) => e.session === undefined || e.session !== entry.session)
  return {
    ...thermometer,
    wtpHistory: [...others, entry].toSorted((a, b) => a.date.localeCompare(b.date)),
  }
}

function resultOf(analysis: Analysis, channel: string): ThermometerResult {
  const found = analysis.thermometers.find(({ record }) => record.channel.id === channel)
  if (!found) {
    throw new ComparisonError('unknown-key', said('channel-not-under-test', { channel }), { channel })
  }
  if (!found.fit) {
    throw new ComparisonError(
      'not-determined',
      found.refusal === null ? said('thermometer-without-fit', {}) : asTold(found.refusal),
      { channel },
    )
  }
  return found
}

/**
 * The fitted conversion with the covariance of its coefficients from every source of the budget, R(0 °C) among them, so that
 * whoever rests on it gets the uncertainty of a temperature right between the points too. A fit's own covariance knows
 * only the sizes of the points' errors, not what they have in common.
 */
function withWholeCovariance(fit: PairFit): Conversion {
  const { conversion, names } = fit.fit
  switch (conversion.kind) {
    case 'callendar-van-dusen':
    case 'steinhart-hart':
    case 'thermocouple':
    case 'polynomial':
      return { ...conversion, covariance: { names: [...names], matrix: fit.covariance(names) } }
    default:
      // R(0.01 °C) of an ITS-90 thermometer is measured again and again and stands in its history, not in its coefficients.
      return conversion
  }
}

/**
 * The calibration that a session's fit makes of a thermometer under test: conversion, range and uncertainty of its points,
 * and whether it holds at zero current. The uncertainty is stated with k = 2 from the standard uncertainty, so that a budget
 * that rests on it gets that back whatever k the report used. Throws ComparisonError 'unknown-key' | 'not-determined'.
 */
export function calibrationOfFit(analysis: Analysis, channel: string, certificate: string): CalibrationOfFit {
  const { record, fit, points, band, coefficients, selfHeating } = resultOf(analysis, channel)
  const { date, input, decisions } = analysis
  const included = points.filter((p) => p.included).map((p) => p.pair.referenceC)
  const [lowC, highC] = [Math.min(...included), Math.max(...included)]
  const conversion = withWholeCovariance(fit!)
  const stated = [
    ...points.filter((p) => p.included).map((p) => ({ celsius: p.pair.referenceC, u: p.curve.u })),
    ...band.filter((_, i) => i % 8 === 0).map((b) => ({ celsius: b.celsius, u: b.budget.u })),
  ].toSorted((a, b) => a.celsius - b.celsius)
  const calibration: ThermometerCalibration = {
    id: `${record.thermometer.id}-${input.info.id}`.slice(0, 80),
    date,
    certificate,
    laboratory: decisions.setup.laboratory.name,
    conversion,
    uncertainty: {
      k: 2,
      points: stated.map(({ celsius, u }) => ({
        celsius: Number(celsius.toFixed(4)),
        expandedMk: Number((2 * u).toPrecision(4)),
      })),
    },
    lowC,
    highC,
    atZeroCurrent: selfHeating === 'zero-current',
    note: `from session ${input.info.id}`,
  }
  const { id, name } = record.thermometer
  const thermometer = { id, name }
  const measured = measuredWtp(analysis).find((m) => m.thermometer === id)?.entry
  if (measured || conversion.kind !== 'its90') return { thermometer, calibration, wtp: measured ?? null }
  // An older R(WTP) of the register would else stand in for the one that belongs to these coefficients.
  const wtp: WtpEntry = {
    date,
    ohm: Number(conversion.rWtp).toPrecision(11),
    uOhm: coefficients.find((c) => c.name === 'rWtp')?.budget.u ?? 0,
    session: input.info.id,
    note: 'from the fit; not measured in a cell',
  }
  return { thermometer, calibration, wtp }
}

/** A thermometer's entry with a calibration in it; one of the same id is replaced, as after an amendment. */
export function withCalibration(thermometer: Thermometer, calibration: ThermometerCalibration): Thermometer {
  const at = thermometer.calibrations.findIndex(({ id }) => id === calibration.id)
  return {
    ...thermometer,
    calibrations:
      at < 0 ? [...thermometer.calibrations, calibration] : thermometer.calibrations.with(at, calibration),
  }
}
