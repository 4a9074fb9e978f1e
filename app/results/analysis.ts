import { kindOf, signalUnitOf } from '../kinds/table.ts'
import { unitBelongs } from '../live/unit-belongs.ts'
import { said } from '../messages/said.ts'
import { isAsked } from '../records/order.ts'
import type { RawUnit } from '../records/reading.ts'
import { itemOf, wishFor } from '../records/session.ts'
import { StatisticsError } from '../statistics/errors.ts'
import type { Prepared } from '../thermometry/convert.ts'
import { ThermometryError } from '../thermometry/errors.ts'
import { type ChannelRecord, channelRecord, sessionDate } from './analysis-channel.ts'
import { checkResults } from './analysis-check.ts'
import { type FoundBeside, factsOf, wtpOf } from './analysis-facts.ts'
import { fitPairs, type PairFit, parametersOf } from './analysis-fit.ts'
import {
  type AnalysisInput,
  type AnalysisOptions,
  DEFAULT_OPTIONS,
  type Decisions,
  decisionsOf,
  leftOutOf,
} from './analysis-input.ts'
import { modelFor, nearConversion, unitOfCoefficient } from './analysis-model.ts'
import { differenceMkAt, liftOf, type Pair, type PairSource, pairsOf } from './analysis-pairs.ts'
import { betweenTemperatures } from './between.ts'
import { type Conformity, conformityAsked, narrowestClass } from './conformity.ts'
import { findingsOf, unmadeOf } from './findings.ts'
import { insulationOf } from './guided.ts'
import { revisitsOf, SAME_K } from './hysteresis.ts'
import { type Exchange, exchangesOf } from './places.ts'
import { rangesOf } from './profile-ranges.ts'
import { type ReferenceSide, referenceSidesOf } from './reference-side.ts'
import type { Analysis, CoefficientResult, CurvePoint, PointResult, ThermometerResult } from './result.ts'
import { ComparisonError } from './uncertainty-error.ts'
import { propagateDistributions, seedOf } from './uncertainty-monte-carlo.ts'
import { referenceAtPlace, underTestAtPlace } from './uncertainty-places.ts'
import { type BudgetTemplate, templateFor } from './uncertainty-template.ts'
import { surveyOf, uniformityOf } from './uniformity.ts'

export type { AnalysisInput, AnalysisOptions } from './analysis-input.ts'

export type { Analysis, PointResult, ThermometerResult } from './result.ts'

/** A bath is never quite at its setpoint: this far beyond the outermost points the table still goes, K. */
const END_K = 0.1

/** Whole multiples of the step over the range. */
export function tableTemperatures(low: number, high: number, step: number): number[] {
  const inner: number[] = []
  for (let i = Math.ceil((low - END_K) / step); i * step <= high + END_K; i++)
    inner.push(Number((i * step).toFixed(9)))
  return inner
}

const figureOf = (template: BudgetTemplate, origin: string, otherwise: number) =>
  template.components.find((c) => c.origin === origin)?.figure ?? otherwise

function remarksOf(fit: PairFit | null, pairs: readonly Pair[]): string[] {
  const remarks: string[] = []
  if (fit?.excess) {
    remarks.push(
      `The residuals (${fit.residualMk.toPrecision(2)} mK) are larger than the budget explains ` +
        `(${fit.expectedResidualMk.toPrecision(2)} mK); the excess is in the budget as scatter beyond the budget.`,
    )
  }
  if (fit && fit.fit.degreesOfFreedom === 0) {
    remarks.push(
      'There are as many points as coefficients: the residuals are zero by construction and prove nothing.',
    )
  }
  const unsettled = pairs.filter((p) => !p.settled)
  if (unsettled.length > 0) {
    remarks.push(
      `${unsettled.length === 1 ? 'One point was' : `${unsettled.length} points were`} taken before the settling rule ` +
        `held: ${unsettled.map((p) => p.point).join(', ')}.`,
    )
  }
  return remarks
}

/** Points whose U is smaller than the laboratory may state; ILAC-P14:09/2020, 5.4 (number of the clause from memory). */
function capabilityRemarks({ capability }: BudgetTemplate, points: readonly PointResult[]): string[] {
  if (!capability) return []
  const least = (celsius: number) => betweenTemperatures(capability, 'expandedMk', celsius)
  const small = points.filter((p) => p.included && !p.pair.cell && 2 * p.budget.u < least(p.pair.referenceC))
  if (small.length === 0) return []
  const words = small.map(
    ({ pair, budget }) =>
      `${pair.point} (${(2 * budget.u).toPrecision(2)} mK against ${least(pair.referenceC).toPrecision(2)} mK)`,
  )
  return [
    `U is smaller than the calibration and measurement capability of the laboratory at ${words.join(', ')}: under its accreditation ` +
      'the laboratory states no less than its capability. Raise a component of the budget, or issue these results without the accreditation.',
  ]
}

/** Conformity of an industrial thermometer as it was asked for, or a remark why there is none. */
function conformityOf(
  { thermometer }: ChannelRecord,
  points: readonly PointResult[],
  { setup }: Decisions,
  { judging }: AnalysisOptions,
): { conformity: Conformity | null; remarks: string[] } {
  if (kindOf(thermometer).classes !== 'iec60751') return { conformity: null, remarks: [] }
  const judged = points
    .filter((p) => p.included && !p.pair.cell)
    .map((p) => ({
      point: p.pair.point,
      celsius: p.pair.referenceC,
      ohm: p.pair.underTest.measuredSignal,
      expandedMk: p.budget.expanded,
    }))
  const nominalOhm = thermometer.nominalOhm ?? 100
  if (judging === 'narrowest') return { conformity: narrowestClass(judged, nominalOhm), remarks: [] }
  const asked = wishFor(setup, thermometer.id)?.conformity
  if (!asked || judged.length === 0) return { conformity: null, remarks: [] }
  const found = conformityAsked(judged, nominalOhm, asked, thermometer.construction)
  return 'refusal' in found
    ? { conformity: null, remarks: [found.refusal] }
    : { conformity: found, remarks: [] }
}

interface Comparison {
  readonly references: readonly ReferenceSide[]
  readonly input: AnalysisInput
  readonly decisions: Decisions
  readonly options: AnalysisOptions
  /** Day of the session, ISO. */
  readonly date: string
  readonly exchanges: readonly Exchange[]
}

function thermometerResult(
  record: ChannelRecord,
  { references, input, decisions, options, date, exchanges }: Comparison,
): ThermometerResult {
  const template = templateFor(record.thermometer.kind, options.templates)
  const referenceFraction = figureOf(template, 'self-heating-reference', 0.2)
  const underTestFraction = figureOf(template, 'self-heating-under-test', 0.2)
  const signalUnit = signalUnitOf(record.thermometer)
  const empty = {
    record,
    template,
    signalUnit,
    fit: null,
    coefficients: [],
    points: [],
    table: [],
    band: [],
    revisits: [],
    beside: null,
    conformity: null,
    monteCarlo: null,
    wtp: null,
    selfHeating: 'at-current',
    remarks: [],
  } as const
  // A customer pays for the points that were asked for; what else was in the bath that night is no matter of this item.
  const asked = itemOf(decisions.setup, record.thermometer.id)?.asked
  const own = asked
    ? input.points.filter((p) => p.kind !== 'comparison' || isAsked(asked, p.setpointC))
    : input.points
  const near = nearConversion(record, { ...input, points: own })
  if (!near)
    return { ...empty, model: 'none', refusal: 'There are fewer than two points with this thermometer.' }
  const foreign = foreignUnit(record, own)
  if (foreign !== null)
    return {
      ...empty,
      model: 'none',
      refusal: `${record.thermometer.name} was measured in ${foreign}, which it cannot have. Choose the thermometer that was connected, or leave its readings out.`,
    }
  const source: PairSource = {
    references,
    record,
    near,
    points: own,
    template,
    uniformity: uniformityOf(decisions.setup, date),
    exchanges,
    referenceFraction,
    underTestFraction,
    leftOut: leftOutOf(decisions),
  }
  const pairs = pairsOf(source)
  const used = pairs.filter((p) => p.leftOutBecause === null)
  const bath = used.filter((p) => !p.cell)
  const model = modelFor(
    record,
    options,
    bath.map((p) => p.referenceC),
  )
  const wtp = wtpOf(record, near, input, underTestFraction, date)
  if (bath.length === 0)
    return { ...empty, model: model.kind, wtp, refusal: 'There is no point with this thermometer.' }
  const stabilityMk = decisions.setup.bench.bath?.stabilityMk ?? 0
  const revisits = revisitsIn(bath, near, stabilityMk)
  const beside: FoundBeside = {
    revisits,
    lift: liftOf(source, stabilityMk, bath[0]!),
    insulationOhm: insulationOf(input.events).get(record.channel.id) ?? null,
  }
  const facts = factsOf(record, references, decisions, date, bath, beside)
  const coverage = options.coverageProbability
  let fit: PairFit
  try {
    fit = fitPairs(used, model, template, facts, coverage)
  } catch (error) {
    if (!(error instanceof StatisticsError || error instanceof ThermometryError)) throw error
    return { ...empty, model: model.kind, wtp, revisits, refusal: error.message }
  }
  const points = pointResults(fit, pairs, used)
  const celsius = used.map((p) => p.referenceC)
  const [low, high] = [Math.min(...celsius), Math.max(...celsius)]
  const curveAt = (t: number): CurvePoint => {
    const { value, dValueDInput } = fit.prepared.toSignal(t)
    return { celsius: t, signal: value, signalPerK: dValueDInput, budget: fit.atTemperature(t) }
  }
  const steps = options.bandSteps
  const coefficients = Object.entries(parametersOf(fit.fit)).map(
    ([name, value]): CoefficientResult => ({
      name,
      value,
      unit: unitOfCoefficient(model, name),
      budget: fit.ofCoefficient(name),
    }),
  )
  const judged = conformityOf(record, points, decisions, options)
  const monteCarlo = propagateDistributions(
    fit,
    references[0]!.prepared,
    template,
    coverage,
    seedOf(`${input.info.id}/${record.channel.id}`),
    options.monteCarloTrials,
  )
  return {
    record,
    model: model.kind,
    template,
    signalUnit,
    refusal: null,
    fit,
    coefficients,
    points,
    table: tableTemperatures(low, high, options.interpolationStepK).map(curveAt),
    band: Array.from({ length: steps + 1 }, (_, i) => curveAt(low + ((high - low) * i) / Math.max(1, steps))),
    revisits,
    beside: { ...beside, bothWays: facts.hysteresis !== null },
    conformity: judged.conformity,
    monteCarlo,
    wtp,
    selfHeating: bath.every((p) => p.underTest.from !== 'unknown') ? 'zero-current' : 'at-current',
    remarks: [
      ...fit.fit.notes,
      ...remarksOf(fit, pairs),
      ...capabilityRemarks(template, points),
      ...judged.remarks,
    ],
  }
}

/** Temperatures that were taken again, and by how much the thermometer differs there. */
function revisitsIn(bath: readonly Pair[], near: Prepared, stabilityMk: number) {
  const hottestC = Math.max(...bath.map((b) => b.setpointC))
  const hottest = bath.findIndex((p) => p.setpointC === hottestC)
  return revisitsOf(
    bath.map((p, i) => ({
      // Staying at the hottest temperature, thermometers moved or not, is no way down.
      afterHottest: i > hottest && p.setpointC < hottestC - SAME_K,
      point: p.point,
      setpointC: p.setpointC,
      label: p.label,
      differenceMk: (near.toTemperature(p.underTest.signal).value - p.referenceC) * 1e3,
      u: Math.hypot(referenceAtPlace(p, stabilityMk).uMk, underTestAtPlace(p, stabilityMk).uMk),
    })),
  )
}

/** Every point as the fit left it, those that were not used as well. */
function pointResults(fit: PairFit, pairs: readonly Pair[], used: readonly Pair[]): PointResult[] {
  const shown = (p: Pair) => (fit.prepared.toTemperature(p.underTest.signal).value - p.referenceC) * 1e3
  return pairs.map((pair): PointResult => {
    const index = used.indexOf(pair)
    const leaveOneOut = index >= 0 ? fit.fit.leaveOneOutK[index]! * 1e3 : Number.NaN
    return {
      pair,
      included: index >= 0,
      residualMk: shown(pair),
      leaveOneOutMk: Number.isFinite(leaveOneOut) ? leaveOneOut : null,
      budget: index >= 0 ? fit.atPoint(index) : fit.atTemperature(pair.referenceC),
      curve: fit.atTemperature(pair.referenceC),
    }
  })
}

/** A unit in which a thermometer of its kind cannot have been measured; null: none. */
function foreignUnit(
  { channel, thermometer }: ChannelRecord,
  points: AnalysisInput['points'],
): string | null {
  const units = points.flatMap((p) =>
    p.channels.flatMap((c) => (c.channel === channel.id ? [c.rawUnit] : [])),
  )
  return units.find((unit) => !unitBelongs(thermometer.kind, unit as RawUnit)) ?? null
}

/** Trials times results of one comparison: a report of sixty thermometers at five points is to take seconds. */
const MOST_DRAWN = 1.2e7
/** Fewer trials than these say nothing of the ends of an interval. */
const LEAST_TRIALS = 40_000

/** As many trials as were asked for, fewer where a comparison has very many results. */
const trialsFor = (asked: number, results: number): number =>
  Math.min(asked, Math.max(LEAST_TRIALS, Math.floor(MOST_DRAWN / Math.max(1, results))))

function overdue(records: readonly ChannelRecord[], date: string): string[] {
  const words = new Set<string>()
  for (const { thermometer, calibration, resistor, instrument, channel } of records) {
    const add = (what: string, due: string | undefined) => {
      if (due !== undefined && due < date) words.add(`The calibration of ${what} was due on ${due}.`)
    }
    if (channel.role !== 'under-test') add(thermometer.name, calibration?.due)
    add(resistor?.record.name ?? '', resistor?.calibration.due)
    add(instrument?.name ?? '', instrument?.due)
  }
  return [...words]
}

/** What the records do not state and the budget therefore cannot hold: an assessor asks for it first. */
function missing(
  records: readonly ChannelRecord[],
  reference: ReferenceSide,
  setup: Decisions['setup'],
): string[] {
  const words: string[] = []
  const { calibration, thermometer } = reference.record
  if (!calibration!.uncertainty && !reference.prepared.sensor.covariance) {
    words.push(
      `The certificate of ${thermometer.name} states no uncertainty; the budget has none for its calibration.`,
    )
  }
  const bare = new Set(
    records
      .filter(
        (r) =>
          r.channel.role !== 'monitor' &&
          !r.instrument?.bridge &&
          !r.instrument?.accuracy?.length &&
          !rangesOf(r.channel, setup).ranges.some(({ accuracy }) => accuracy !== undefined),
      )
      .map((r) => r.instrument?.name ?? r.channel.instrument),
  )
  for (const name of bare) {
    words.push(
      `The register states no linearity and resolution of ${name}, nor an accuracy; the budget has none for it.`,
    )
  }
  const { bath } = setup.bench
  if (!bath || bath.uniformityMk === 0)
    words.push('The bench states no uniformity of the bath; the budget has none.')
  if (!bath || bath.stabilityMk === 0)
    words.push('The bench states no stability of the bath; the budget has none.')
  return words
}

/**
 * Everything a comparison has to say, from what its session file holds: pairs, fits, budgets, conformity, hysteresis,
 * the reference's and the check thermometers' behaviour. Pure: the same file gives the same result, digit by digit.
 *
 * Throws ComparisonError 'no-reference' | 'no-calibration' | 'no-resistor'; a thermometer under test whose points do
 * not determine its coefficients is not an error: its result carries the refusal in words.
 */
export function analyse(input: AnalysisInput): Analysis {
  const options = { ...DEFAULT_OPTIONS, ...input.options }
  const decisions = decisionsOf(input.setup, input.events)
  const date = sessionDate(input.info)
  const { setup } = decisions
  const records = setup.bench.channels
    .filter((c) => c.enabled)
    .flatMap((c) => channelRecord(c, setup, date) ?? [])
  const own = records.find((r) => r.channel.role === 'reference')
  if (!own) {
    throw new ComparisonError('no-reference', said('no-reference-channel', {}), { session: input.info.id })
  }
  const template = templateFor(own.thermometer.kind, options.templates)
  const fraction = figureOf(template, 'self-heating-reference', 0.2)
  const references = referenceSidesOf(records, input, date)
  const reference = references[0]!
  const underTest = records.filter((r) => r.channel.role === 'under-test')
  const exchanges = exchangesIn(records, references, input, decisions, options, date)
  const points = input.points.filter((p) => p.kind === 'comparison').length
  const trials = trialsFor(options.monteCarloTrials, points * underTest.length)
  const thermometers = underTest.map((record) =>
    thermometerResult(record, {
      references,
      input,
      decisions,
      options: { ...options, monteCarloTrials: trials },
      date,
      exchanges,
    }),
  )
  const wtps = references.map((r) => wtpOf(r.record, r.prepared, input, fraction, date))
  const referenceWtp = wtps[0]!
  const around = {
    references,
    wtps,
    exchanges,
    hasSurvey: surveyOf(setup, date) !== undefined,
    uniformity: uniformityOf(setup, date),
  }
  const remarks = [...overdue(records, date), ...missing(records, reference, setup)]
  if (referenceWtp?.sinceLast?.moved) {
    remarks.push(
      `R(WTP) of the reference thermometer has moved by ${referenceWtp.sinceLast.differenceMk.toFixed(2)} mK since ` +
        `${referenceWtp.sinceLast.date}, more than its uncertainty; the value measured in this session was used.`,
    )
  }
  if (referenceWtp?.changed) {
    remarks.push(
      'R(WTP) of the reference thermometer differs before and after the comparison by more than its uncertainty.',
    )
  }
  return {
    input,
    options,
    decisions,
    date,
    reference,
    references,
    referenceWtp,
    thermometers,
    exchanges,
    checks: checkResults(records, references, input, decisions, options.templates, date),
    findings: findingsOf(thermometers, around),
    unmade: unmadeOf(thermometers, around),
    remarks,
  }
}

/** What the exchanges of places in a session tell of the bath: all its thermometers together. */
function exchangesIn(
  records: readonly ChannelRecord[],
  references: readonly ReferenceSide[],
  input: AnalysisInput,
  decisions: Decisions,
  options: AnalysisOptions,
  date: string,
): Exchange[] {
  if (!input.points.some((p) => p.places)) return []
  const first = references[0]!
  const stabilityMk = decisions.setup.bench.bath?.stabilityMk ?? 0
  const hung = records.filter((r) => r !== first.record && r.channel.role !== 'monitor')
  const sources = hung.flatMap((record): PairSource[] => {
    const near = nearConversion(record, input)
    if (!near) return []
    const template = templateFor(record.thermometer.kind, options.templates)
    return [
      {
        references: [first],
        record,
        near,
        points: input.points,
        template,
        uniformity: uniformityOf(decisions.setup, date),
        exchanges: [],
        referenceFraction: figureOf(template, 'self-heating-reference', 0.2),
        underTestFraction: figureOf(template, 'self-heating-under-test', 0.2),
        leftOut: leftOutOf(decisions),
      },
    ]
  })
  // A point alone tells little of its own scatter: as everywhere, all of them together tell it.
  const likes = new Map(sources.map((source) => [source, pairsOf(source).find((p) => !p.cell)]))
  return exchangesOf(input.points, first.record.channel.id, (point) =>
    sources.flatMap((source) => {
      const differenceMk = differenceMkAt(source, point)
      const like = likes.get(source)
      if (differenceMk === null || !like) return []
      const [own, side] = [underTestAtPlace(like, stabilityMk), referenceAtPlace(like, stabilityMk)]
      return [
        {
          point: point.id,
          channel: source.record.channel.id,
          differenceMk,
          uMk: Math.max(1e-3, own.uMk),
          uReferenceMk: Math.max(1e-3, side.uMk),
          degreesOfFreedom: own.degreesOfFreedom,
          referenceDegreesOfFreedom: side.degreesOfFreedom,
        },
      ]
    }),
  )
}
