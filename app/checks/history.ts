import { counted } from '../base/plural.ts'
import type { ChartView } from '../contract/checks.ts'
import type { InstrumentRecord, Resistor, Thermometer } from '../records/register.ts'

/** One entry of a control chart: a value on a day with its standard uncertainty. */
export interface ChartEntry {
  readonly date: string
  readonly value: number
  readonly u: number
  /** Session it comes from, where one is known. */
  readonly session?: string | undefined
}

export interface ChartFinding {
  readonly date: string
  readonly rule: 'action' | 'warning' | 'run'
  readonly words: string
}

export interface ControlChart {
  readonly name: string
  readonly unit: string
  readonly entries: readonly ChartEntry[]
  readonly centre: number
  /** Distances from the centre; null with fewer than LEAST_FOR_LIMITS entries. */
  readonly limits: { readonly warning: number; readonly action: number } | null
  readonly findings: readonly ChartFinding[]
}

/** Fewer entries do not tell how much the values usually move. Common practice, no source. */
export const LEAST_FOR_LIMITS = 4
/** Mean moving range of two values over the standard deviation of a normal distribution, d2 for n = 2; ISO 7870-2. */
const D2 = 1.128
/** So many in a row on one side of the centre are no chance; common practice, no source. */
const RUN = 7

/**
 * Control chart of single values: centre, limits from the moving range, and what stands out.
 *
 *   sigma = mean |x_i - x_(i-1)| / 1.128;  warning at 2 sigma, action at 3 sigma
 *
 * sigma is never taken below the mean standard uncertainty of the entries: a short calm spell proves no better method.
 * Source: ISO 7870-2 (chart for individuals; number of the part from memory).
 */
export function controlChart(name: string, unit: string, given: readonly ChartEntry[]): ControlChart {
  const entries = given.toSorted((a, b) => a.date.localeCompare(b.date))
  const values = entries.map((e) => e.value)
  const centre = values.reduce((sum, v) => sum + v, 0) / Math.max(1, values.length)
  if (entries.length < LEAST_FOR_LIMITS) return { name, unit, entries, centre, limits: null, findings: [] }
  const ranges = values.slice(1).map((v, i) => Math.abs(v - values[i]!))
  const moving = ranges.reduce((sum, r) => sum + r, 0) / ranges.length / D2
  const stated = entries.reduce((sum, e) => sum + e.u, 0) / entries.length
  const sigma = Math.max(moving, stated)
  const findings: ChartFinding[] = []
  let side = 0
  let run = 0
  for (const { date, value } of entries) {
    const away = value - centre
    const words = `${name} on ${date} lies ${Math.abs(away / sigma).toFixed(1)} standard deviations ${away < 0 ? 'below' : 'above'} its mean.`
    if (Math.abs(away) > 3 * sigma) findings.push({ date, rule: 'action', words })
    else if (Math.abs(away) > 2 * sigma) findings.push({ date, rule: 'warning', words })
    run = Math.sign(away) === side ? run + 1 : 1
    side = Math.sign(away)
    if (run === RUN && side !== 0) {
      findings.push({
        date,
        rule: 'run',
        words: `${name}: ${RUN} values in a row lie ${side < 0 ? 'below' : 'above'} the mean up to ${date}; it is moving.`,
      })
    }
  }
  return { name, unit, entries, centre, limits: { warning: 2 * sigma, action: 3 * sigma }, findings }
}

const byDate = <T extends { readonly date: string }>(entries: readonly T[]): T[] =>
  entries.toSorted((a, b) => a.date.localeCompare(b.date))

/** Control chart of a thermometer's R(WTP), as a temperature against its first entry, mK. */
export function wtpChart(thermometer: Thermometer, kelvinPerRelative = 250.7): ControlChart {
  const history = byDate(thermometer.wtpHistory)
  const first = Number(history[0]?.ohm ?? 1)
  const entries = history.map(({ date, ohm, uOhm, session }) => ({
    date,
    value: (Number(ohm) / first - 1) * kelvinPerRelative * 1e3,
    u: (uOhm / first) * kelvinPerRelative * 1e3,
    session,
  }))
  return controlChart(`R(0.01 °C) of ${thermometer.name}`, 'mK against the first entry', entries)
}

/**
 * Control chart of a reference resistor: parts in a million against its first calibration. Comparisons with a better one
 * stand beside the calibrations, but for those that became one.
 */
export function resistorChart(resistor: Resistor): ControlChart {
  const values = [
    ...resistor.calibrations.map(({ date, ohm, expandedRelative, k }) => ({
      date,
      ohm: Number(ohm),
      u: expandedRelative / k,
      session: undefined,
    })),
    ...(resistor.comparisons ?? [])
      .filter(({ calibration }) => calibration === undefined)
      .map(({ date, ohm, uRelative, session }) => ({ date, ohm: Number(ohm), u: uRelative, session })),
  ]
  const first = byDate(resistor.calibrations)[0]?.ohm ?? byDate(values)[0]?.ohm ?? 1
  const entries = values.map(({ date, ohm, u, session }) => ({
    date,
    value: (ohm / Number(first) - 1) * 1e6,
    u: u * 1e6,
    session,
  }))
  return controlChart(resistor.name, 'parts in a million against the first calibration', entries)
}

/** Control chart of a ratio bridge: the linearity its checks found, parts in 10^9 of ratio. */
export function bridgeChart(instrument: InstrumentRecord): ControlChart {
  const entries = (instrument.checks ?? []).map(({ date, linearityRatio, results, session }) => ({
    date,
    value: linearityRatio * 1e9,
    // The mean square of m results of u each is uncertain by u / sqrt(m).
    u: (Math.hypot(...results.map(({ u }) => u)) / results.length) * 1e9,
    session,
  }))
  return controlChart(`Linearity of ${instrument.name}`, 'parts in 10⁹ of ratio', entries)
}

const away = (mean: number, unit: string) => `${Math.abs(mean).toPrecision(2)} ${unit.split(' against')[0]}`

/** What a control chart says, in words: whether the newest entry is in control, and what to do where it is not. */
export function chartVerdict(chart: ControlChart): string {
  const { entries, limits, findings, name, unit, centre } = chart
  const newest = entries.at(-1)
  if (!newest) return 'There is no entry yet.'
  if (!limits) {
    return `${counted(entries.length, 'entry', 'entries')}; control limits need ${LEAST_FOR_LIMITS}.`
  }
  const now = findings.filter(({ date }) => date === newest.date)
  const from = `${away(newest.value - centre, unit)} from the mean`
  if (now.some(({ rule }) => rule === 'action')) {
    return `Out of control: the newest entry, ${newest.date}, lies ${from}, beyond the action limit. Measure again, and find out why before ${name} is relied on.`
  }
  if (now.some(({ rule }) => rule === 'run')) {
    return `Moving: the entries up to ${newest.date} lie on one side of the mean. Look at what it drifts with, and check more often.`
  }
  if (now.some(({ rule }) => rule === 'warning')) {
    return `To be watched: the newest entry, ${newest.date}, lies ${from}, beyond the warning limit. Measure it again soon.`
  }
  const earlier = findings.filter(({ date, rule }) => date !== newest.date && rule !== 'warning')
  const before = earlier.at(-1)
  return (
    `In control: the newest entry, ${newest.date}, lies ${from}, within the limits.` +
    (before ? ` Earlier: ${before.words}` : '')
  )
}

/** A control chart as a window is told of it; `pending`: sessions that are still to be looked through for it. */
export function chartView(chart: ControlChart, pending: number): ChartView {
  const { name, unit, entries, centre, limits, findings } = chart
  return {
    name,
    unit,
    entries: entries.map(({ date, value, u, session }) => ({ date, value, u, session: session ?? null })),
    centre,
    limits: limits && { ...limits },
    findings: findings.map((finding) => ({ ...finding })),
    verdict: chartVerdict(chart),
    pending,
  }
}
