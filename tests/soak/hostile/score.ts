import { READING_ORDERS } from '../../../app/records/plan.ts'
import { type Analysis, analyse } from '../../../app/results/analysis.ts'
import type { Finding } from '../../../app/results/finding.ts'
import { HOSTILE_CASE_NAMES, type HostileCase } from '../../../simulator/hostile/cases.ts'
import { type Guided, leftOutOf, quickNight } from './night.ts'

export const KINDS = ['sprt', 'prt', 'thermistor', 'thermocouple'] as const
type Kind = (typeof KINDS)[number]
type Order = (typeof READING_ORDERS)[number]

/** One line of the table: a case, a kind of thermometer, an order of reading. */
export interface HostileRow {
  readonly case: HostileCase
  readonly kind: Kind
  readonly order: Order
  readonly results: number
  /** Share of the results whose error lies within U. */
  readonly within: number
  /** Root mean square of error over U. */
  readonly rms: number
  /** Share of which something was said that concerns them. */
  readonly flagged: number
  /** Share outside U of which nothing was said. */
  readonly silentWrong: number
}

/** A row with how well its last share is known: its standard uncertainty by the scatter of the nights, whose results hang together. */
export interface ScoredRow extends HostileRow {
  readonly uSilentWrong: number
}

/** A kind of finding in the nights of a quiet bath: in how many of them it cried out. */
export interface FalseAlarms {
  readonly kind: Finding['kind']
  readonly nights: number
  readonly of: number
}

/** Which guided check would have seen a case: a remark that it was not made counts for that case alone. */
const SEEN_BY: Partial<Record<HostileCase, Guided>> = {
  'gradient-larger': 'exchange',
  'gradient-with-temperature': 'exchange',
  'gradient-turning': 'exchange',
  'stem-conduction': 'lift',
  hysteresis: 'first-again',
  'leak-item': 'insulation',
  'leak-reference': 'insulation',
  'reference-jump': 'wtp',
  'reference-drifted': 'wtp',
  'self-heating': 'pairs',
}

export interface Judged {
  readonly kind: Kind
  readonly errorMk: number
  readonly expandedMk: number
  readonly flagged: boolean
}

export interface JudgedNight {
  readonly results: readonly Judged[]
  /** Kinds of findings, each once. */
  readonly findings: readonly Finding['kind'][]
}

/** Temperatures at which a curve is held against the truth, degC. */
const AT = [15, 25, 35, 45, 55, 65, 75, 85, 95]

/** One night's results against the lab's truth. */
export function judgeNight(kind: HostileCase, order: Order, seed: number): JudgedNight {
  const without = leftOutOf(seed)
  const { input, lab } = quickNight({ kind, order, seed, ...(without && { without }) })
  const analysis = analyse({
    ...input,
    options: { monteCarloTrials: 0, interpolationStepK: 1000, bandSteps: 0 },
  })
  const results = analysis.thermometers.flatMap((result): Judged[] => {
    const { fit, record } = result
    if (!fit) return []
    const flagged = isSaid(analysis, record.channel.id, kind, without)
    return AT.map((celsius) => {
      const signal = lab.trueSignal(record.thermometer.id, celsius)
      const errorMk = (fit.prepared.toTemperature(signal).value - celsius) * 1e3
      const expandedMk = fit.atTemperature(celsius).expanded
      return { kind: record.thermometer.kind as Kind, errorMk, expandedMk, flagged }
    })
  })
  return { results, findings: [...new Set(analysis.findings.map((f) => f.kind))] }
}

/** Whether something was said that concerns a thermometer's results: a mark, or the check left out that would have seen it. */
function isSaid(
  analysis: Analysis,
  channel: string,
  kind: HostileCase,
  without: Guided | undefined,
): boolean {
  const marked = analysis.findings.some((f) => f.channels === null || f.channels.includes(channel))
  const unmade = without !== undefined && SEEN_BY[kind] === without
  return marked || (unmade && analysis.unmade.some((u) => u.check === without))
}

export interface HostileRun {
  readonly nights: number
  readonly seed: number
  readonly cases?: readonly HostileCase[]
  readonly onCase?: (rows: readonly ScoredRow[]) => void
}

export interface HostileScore {
  readonly rows: readonly ScoredRow[]
  /** Of the quiet bath, where it was among the cases. */
  readonly falseAlarms: readonly FalseAlarms[]
}

/** The quiet bath has the closest goals: so many times the nights, since the results of one night hang together. */
const QUIET_TIMES = 3

/** Nights of every case in every order of reading, each of its own seed. */
export function hostileScore({ nights, seed, cases = HOSTILE_CASE_NAMES, onCase }: HostileRun): HostileScore {
  const quiet: JudgedNight[] = []
  const rows = cases.flatMap((kind) => {
    const own = READING_ORDERS.flatMap((order, turn) => {
      const count = kind === 'none' ? QUIET_TIMES * nights : nights
      const judged = Array.from({ length: count }, (_, i) =>
        judgeNight(kind, order, seedOf(seed, kind, i * READING_ORDERS.length + turn)),
      )
      if (kind === 'none') quiet.push(...judged)
      return KINDS.map((one) => rowOf(kind, one, order, judged))
    })
    onCase?.(own)
    return own
  })
  const kinds = [...new Set(quiet.flatMap((n) => n.findings))].toSorted()
  const falseAlarms = kinds.map((kind) => ({
    kind,
    nights: quiet.filter((n) => n.findings.includes(kind)).length,
    of: quiet.length,
  }))
  return { rows, falseAlarms }
}

/** Every case has a laboratory of its own in every night, so that cases do not share the luck of one. */
const seedOf = (seed: number, kind: HostileCase, night: number) =>
  (seed * 100 + HOSTILE_CASE_NAMES.indexOf(kind)) * 10_000 + night

function rowOf(name: HostileCase, kind: Kind, order: Order, nights: readonly JudgedNight[]): ScoredRow {
  const byNight = nights.map((n) => n.results.filter((r) => r.kind === kind)).filter((n) => n.length > 0)
  const judged = byNight.flat()
  const n = judged.length
  const share = (of: (j: Judged) => boolean) => (n === 0 ? 0 : judged.filter(of).length / n)
  const isWithin = (j: Judged) => Math.abs(j.errorMk) <= j.expandedMk
  const isSilent = (j: Judged) => !isWithin(j) && !j.flagged
  const squares = judged.reduce((sum, j) => sum + (j.errorMk / j.expandedMk) ** 2, 0)
  const silentWrong = share(isSilent)
  const scatter = byNight.reduce(
    (sum, own) => sum + (own.filter(isSilent).length / own.length - silentWrong) ** 2,
    0,
  )
  const m = byNight.length
  return {
    case: name,
    kind,
    order,
    results: n,
    within: share(isWithin),
    rms: n === 0 ? 0 : Math.sqrt(squares / n),
    flagged: share((j) => j.flagged),
    silentWrong,
    uSilentWrong: m > 1 ? Math.sqrt(scatter / (m - 1) / m) : 0,
  }
}

const percent = (share: number) => (100 * share).toFixed(1)

/** The cases as a table: all kinds of thermometers and orders of reading together. */
export function casesOf(rows: readonly HostileRow[]): string[] {
  const lines = [...new Set(rows.map((r) => r.case))].map((name) => {
    const own = rows.filter((r) => r.case === name)
    const results = own.reduce((sum, r) => sum + r.results, 0)
    const share = (of: (r: HostileRow) => number) =>
      percent(own.reduce((sum, r) => sum + of(r) * r.results, 0) / Math.max(1, results))
    return `| ${name} | ${results} | ${share((r) => r.within)} | ${share((r) => r.flagged)} | ${share((r) => r.silentWrong)} |`
  })
  return [
    '| case | results | within U, % | flagged, % | silent wrong, % |',
    '|---|---|---|---|---|',
    ...lines,
  ]
}

/** The rows as a table for a terminal or a page. */
export function tableOf(rows: readonly ScoredRow[]): string[] {
  return [
    '| case | kind | order | results | within U, % | rms(e/U) | flagged, % | silent wrong, % | its u, % |',
    '|---|---|---|---|---|---|---|---|---|',
    ...rows.map(
      (r) =>
        `| ${r.case} | ${r.kind} | ${r.order} | ${r.results} | ${percent(r.within)} | ${r.rms.toFixed(2)} | ${percent(r.flagged)} | ${percent(r.silentWrong)} | ${percent(r.uSilentWrong)} |`,
    ),
  ]
}

/** What cried out in quiet nights, as a table. */
export function falseAlarmsOf(found: readonly FalseAlarms[]): string[] {
  return [
    '| finding | nights | of | share, % |',
    '|---|---|---|---|',
    ...found.map(({ kind, nights, of }) => `| ${kind} | ${nights} | ${of} | ${percent(nights / of)} |`),
  ]
}
