import { channelRecord, sessionDate } from '../results/analysis-channel.ts'
import { checkResults } from '../results/analysis-check.ts'
import { type AnalysisInput, DEFAULT_OPTIONS, decisionsOf } from '../results/analysis-input.ts'
import { referenceSidesOf } from '../results/reference-side.ts'
import { type ChartEntry, type ControlChart, controlChart } from './control-chart.ts'

/** What the check thermometers of one session were found to deviate by: plain data, to be kept and sent. */
export interface SessionChecks {
  readonly session: string
  readonly date: string
  readonly points: readonly {
    readonly thermometer: string
    readonly celsius: number
    readonly differenceMk: number
    /** Standard. */
    readonly uMk: number
  }[]
}

/**
 * Check thermometers of a session against its reference, without the fits: the same figures as the report's. Empty where no
 * enabled channel is a reference or a check thermometer. Throws what referenceSidesOf throws.
 */
export function sessionChecks(input: AnalysisInput): SessionChecks {
  const date = sessionDate(input.info)
  const decisions = decisionsOf(input.setup, input.events)
  const { setup } = decisions
  const records = setup.bench.channels
    .filter((c) => c.enabled)
    .flatMap((c) => channelRecord(c, setup, date) ?? [])
  const session = input.info.id
  const has = (role: string) => records.some((r) => r.channel.role === role)
  if (!has('reference') || !has('check')) return { session, date, points: [] }
  const references = referenceSidesOf(records, input, date)
  const templates = input.options?.templates ?? DEFAULT_OPTIONS.templates
  const points = checkResults(records, references, input, decisions, templates, date).flatMap(
    ({ record, points: found }) =>
      found.map(({ celsius, differenceMk, expandedMk }) => ({
        thermometer: record.thermometer.id,
        celsius,
        differenceMk,
        uMk: expandedMk / 2,
      })),
  )
  return { session, date, points }
}

/** Points this near to the temperature asked for count as taken there, K. */
const NEAR_K = 5

/**
 * Control chart of a check thermometer over sessions: mean deviation from the reference of each, mK. With `celsius` only the
 * points near it count, so that sessions over different ranges compare; errors of the points of one session are mostly
 * common (certificates, bath), so that the mean is taken as no better than they are on average.
 */
export function checkThermometerChart(
  thermometer: { readonly id: string; readonly name: string },
  sessions: readonly SessionChecks[],
  celsius: number | null = null,
): ControlChart {
  const entries = sessions.flatMap(({ session, date, points: all }): ChartEntry[] => {
    const points = all.filter(
      (p) =>
        p.thermometer === thermometer.id && (celsius === null || Math.abs(p.celsius - celsius) <= NEAR_K),
    )
    if (points.length === 0) return []
    const mean = (of: (p: (typeof points)[number]) => number) =>
      points.reduce((sum, p) => sum + of(p), 0) / points.length
    return [{ date, session, value: mean((p) => p.differenceMk), u: mean((p) => p.uMk) }]
  })
  const where = celsius === null ? '' : ` near ${celsius} °C`
  return controlChart(`Deviation of ${thermometer.name}${where} from the reference`, 'mK', entries)
}
