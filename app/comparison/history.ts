import type { Resistor, Thermometer } from '../records/register.ts'

/** One entry of a control chart: a value on a day with its standard uncertainty. */
export interface ChartEntry {
  readonly date: string
  readonly value: number
  readonly u: number
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

/** Control chart of a thermometer's R(WTP), as a temperature against its first entry, mK. */
export function wtpChart(thermometer: Thermometer, kelvinPerRelative = 250.7): ControlChart {
  const first = Number(thermometer.wtpHistory[0]?.ohm ?? 1)
  const entries = thermometer.wtpHistory.map(({ date, ohm, uOhm }) => ({
    date,
    value: (Number(ohm) / first - 1) * kelvinPerRelative * 1e3,
    u: (uOhm / first) * kelvinPerRelative * 1e3,
  }))
  return controlChart(`R(0.01 °C) of ${thermometer.name}`, 'mK against the first entry', entries)
}

/** Control chart of a reference resistor: parts in a million against its first calibration. */
export function resistorChart(resistor: Resistor): ControlChart {
  const sorted = resistor.calibrations.toSorted((a, b) => a.date.localeCompare(b.date))
  const first = Number(sorted[0]?.ohm ?? 1)
  const entries = sorted.map(({ date, ohm, expandedRelative, k }) => ({
    date,
    value: (Number(ohm) / first - 1) * 1e6,
    u: (expandedRelative / k) * 1e6,
  }))
  return controlChart(resistor.name, 'parts in a million against the first calibration', entries)
}
