import { entryOf } from '../../../app/base/lists.ts'
import { isExcluded } from '../../../app/records/mark.ts'
import type { PlotData } from '../../../app/report/plots/plot.ts'
import type { Analysis } from '../../../app/results/analysis.ts'
import type { SessionFile } from '../../store/session-file.ts'
import { sessionChains } from './session-content.ts'

/** How long before a point its panel begins, as a multiple of the point's own length, and at least this long. */
const LEAD = 1
const LEAST_LEAD_US = 10 * 60e6
const MOST_READINGS = 20_000
/** Dots in one small panel; more cannot be told apart on paper. */
const MOST_DOTS = 160
/** A setpoint still being approached would squeeze what matters into a line. */
const LIMIT_MK = 20

/** Means of runs of neighbouring values, so that at most `most` are left. */
function thinned(values: readonly { minutes: number; mk: number }[], most: number) {
  const run = Math.max(1, Math.ceil(values.length / most))
  const out: { minutes: number; mk: number }[] = []
  for (let i = 0; i < values.length; i += run) {
    const part = values.slice(i, i + run)
    const mean = (of: (v: { minutes: number; mk: number }) => number) =>
      part.reduce((sum, v) => sum + of(v), 0) / part.length
    out.push({ minutes: mean((v) => v.minutes), mk: mean((v) => v.mk) })
  }
  return out
}

/** Stability of the reference before and while each point was taken. */
export function settlingTraces(
  session: SessionFile,
  analysis: Analysis,
): Extract<PlotData, { type: 'settling' }> {
  const channel = analysis.reference.record.channel.id
  const chain = entryOf(sessionChains(session), channel)
  const panels = analysis.input.points
    .filter((p) => p.kind === 'comparison')
    .flatMap((point) => {
      const lead = Math.max(LEAST_LEAD_US, LEAD * (point.endUtcUs - point.startUtcUs))
      const mean = point.channels.find((c) => c.channel === channel)?.t90C
      if (mean === null || mean === undefined) return []
      const dots = session
        .readings({
          channel,
          fromUtcUs: point.startUtcUs - lead,
          toUtcUs: point.endUtcUs,
          most: MOST_READINGS,
        })
        .filter((r) => r.value !== null && !isExcluded(r.marks))
        .map((r) => ({
          minutes: (r.utcUs - point.startUtcUs) / 60e6,
          mk: (chain.convert(Number(r.value), r.unit, r.currentMa).celsius - mean) * 1e3,
        }))
        .filter(({ mk }) => Math.abs(mk) <= LIMIT_MK)
      const shown = thinned(dots, MOST_DOTS)
      return [
        {
          label: `${point.id}: ${Number(point.setpointC.toFixed(3))} °C`,
          minutes: shown.map((d) => d.minutes),
          mk: shown.map((d) => d.mk),
          endMinutes: (point.endUtcUs - point.startUtcUs) / 60e6,
        },
      ]
    })
  return { type: 'settling', title: 'Stability of the reference around each point', panels }
}
