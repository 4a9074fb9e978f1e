import { holdsAtZeroCurrent } from '../live/calibration-current.ts'
import { type ChannelRecord, calibrationMk, preparedFor, yearsBetween } from './analysis-channel.ts'
import { type FoundBeside, factsOf } from './analysis-facts.ts'
import { type AnalysisInput, type Decisions, leftOutOf } from './analysis-input.ts'
import { pairsOf } from './analysis-pairs.ts'
import type { ReferenceSide } from './reference-side.ts'
import { errorSources, pointEffectsMk } from './uncertainty-sources.ts'
import type { BudgetTemplate } from './uncertainty-template.ts'
import { HALF_WIDTH_DIVISOR, templateFor } from './uncertainty-template.ts'
import { uniformityOf } from './uniformity.ts'

const NOTHING_BESIDE: FoundBeside = { revisits: [], lift: null, insulationOhm: null }

/** A check thermometer against the reference at one point. */
export interface CheckPoint {
  readonly point: string
  readonly celsius: number
  /** Check thermometer by its own calibration less reference, mK. */
  readonly differenceMk: number
  /** Expanded uncertainty of the difference, k = 2. */
  readonly expandedMk: number
  /** |difference| / expanded uncertainty; above 1 the two do not agree. */
  readonly en: number
}

export interface CheckResult {
  readonly record: ChannelRecord
  readonly points: readonly CheckPoint[]
  readonly agrees: boolean
}

/**
 * Compares every check thermometer that has a calibration with the references, by the whole budget of its kind: what any
 * thermometer under test would have at the point, and its own calibration, R(WTP) and drift with it.
 * En as in ISO 13528, 9.7 (number of the clause from memory).
 */
export function checkResults(
  records: readonly ChannelRecord[],
  references: readonly ReferenceSide[],
  input: AnalysisInput,
  decisions: Decisions,
  templates: readonly BudgetTemplate[],
  date: string,
): CheckResult[] {
  return records
    .filter((r) => r.channel.role === 'check' && r.calibration !== null)
    .map((record) => {
      const prepared = preparedFor(record)!
      const template = templateFor(record.thermometer.kind, templates)
      const figure = (origin: string) => template.components.find((c) => c.origin === origin)?.figure ?? 0.2
      const pairs = pairsOf({
        references,
        record,
        near: prepared,
        points: input.points,
        template,
        uniformity: uniformityOf(decisions.setup, date),
        exchanges: [],
        referenceFraction: figure('self-heating-reference'),
        underTestFraction: figure('self-heating-under-test'),
        leftOut: leftOutOf(decisions),
      }).filter((p) => !p.cell && p.leftOutBecause === null)
      if (pairs.length === 0) return { record, points: [], agrees: true }
      const zero = holdsAtZeroCurrent(record.calibration!)
      const seen = pairs.map((p) => (zero ? p : { ...p, underTestSelfHeatingMk: 0 }))
      const sources = errorSources(
        template,
        seen,
        factsOf(record, references, decisions, date, seen, NOTHING_BESIDE),
      )
      const effects = sources.map((source) => pointEffectsMk(source, seen))
      const own = ownCalibration(record, template, date)
      const points = seen.map((pair, i): CheckPoint => {
        const signal = zero ? pair.underTest.signal : pair.underTest.measuredSignal
        const differenceMk = (prepared.toTemperature(signal).value - pair.referenceC) * 1e3
        const u = Math.hypot(
          ...effects.map((e) => e[i]!),
          calibrationMk(record.calibration!.uncertainty, pair.referenceC),
          own.relative * pair.underTestMkPerRelative,
        )
        return {
          point: pair.point,
          celsius: pair.referenceC,
          differenceMk,
          expandedMk: 2 * u,
          en: u > 0 ? Math.abs(differenceMk) / (2 * u) : Number.POSITIVE_INFINITY,
        }
      })
      return { record, points, agrees: points.every((p) => p.en <= 1) }
    })
}

/** What a check thermometer's own R(WTP) and drift since its calibration bring, relative. */
function ownCalibration(
  { calibration, wtp }: ChannelRecord,
  template: BudgetTemplate,
  date: string,
): { readonly relative: number } {
  const isIts90 = calibration!.conversion.kind === 'its90'
  const since = [calibration!.date, (isIts90 && wtp?.date) || ''].toSorted().at(-1)!
  const perYear = template.components.find((c) => c.origin === 'reference-drift')?.figure ?? 0
  const driftMk = (perYear * yearsBetween(since, date)) / HALF_WIDTH_DIVISOR.rectangular
  // One mK at the triple point is 3.9886e-6 of R; ITS-90, slope of the reference function there.
  const drift = driftMk * 3.9886e-6
  return { relative: Math.hypot(drift, isIts90 && wtp ? wtp.uOhm / Number(wtp.ohm) : 0) }
}
