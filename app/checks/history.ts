import { counted } from '../base/plural.ts'
import type { ChartView } from '../contract/checks.ts'
import type { InstrumentRecord, Resistor, Thermometer } from '../records/register.ts'
import { type ControlChart, controlChart, LEAST_FOR_LIMITS } from './control-chart.ts'

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
 * Control chart of a reference resistor: ppm against its first calibration. Comparisons with a better one
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
  return controlChart(resistor.name, 'ppm against the first calibration', entries)
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
    return `No limits yet: ${counted(entries.length, 'entry', 'entries')}; an entry is judged from ${LEAST_FOR_LIMITS} before it on.`
  }
  const now = findings.filter(({ date }) => date === newest.date)
  const from = `${away(newest.value - centre, unit)} from the entries before it`
  if (now.some(({ rule }) => rule === 'action')) {
    return `Out of control: the newest entry, ${newest.date}, lies ${from}, beyond the action limit. Measure again, and find out why before ${name} is relied on.`
  }
  if (now.some(({ rule }) => rule === 'run')) {
    return `Moved: the last entries, up to ${newest.date}, lie on one side of those before them. Look for what happened, and check more often.`
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
  const { name, unit, entries, centre, limits, judgedBy, findings } = chart
  return {
    name,
    unit,
    entries: entries.map(({ date, value, u, session }, i) => ({
      date,
      value,
      u,
      session: session ?? null,
      judgedBy: judgedBy[i] ? { ...judgedBy[i] } : null,
    })),
    centre,
    limits: limits && { ...limits },
    findings: findings.map((finding) => ({ ...finding })),
    verdict: chartVerdict(chart),
    pending,
  }
}
