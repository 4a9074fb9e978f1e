import { counted } from '../../app/base/plural.ts'
import type { ChartView } from '../../app/contract/checks.ts'
import { fixed, unitSign } from '../text/numbers.ts'
import { type AcrossLine, DotPlot } from './DotPlot.tsx'

interface Props {
  chart: ChartView
  theme: string
  /** Opens the session an entry came from. */
  onSession: (session: string) => void
}

const secondsOf = (date: string) => Date.parse(date) / 1000

/** How the limits came about, in words. */
function limitsWords({ entries, limits, unit }: ChartView): string | undefined {
  const from = entries.at(-1)?.judgedBy?.from
  // Why there are none yet is the verdict itself.
  if (!limits || from === undefined) return undefined
  const sigma = limits.warning / 2
  const short = unit.split(' against')[0]
  return (
    `Limits for the newest: warning at ± ${fixed(limits.warning, 3)}, action at ± ${fixed(limits.action, 3)} ${short} from the median of the ${counted(from, 'entry', 'entries')} before it that were in control. ` +
    `They are two and three times ${fixed(sigma, 3)}: the median step from one entry to the next over 0.954, or what the entries state of themselves where that is larger. ` +
    'Seven in a row on one side of what was before them count as a move.'
  )
}

/** A control chart: values with k = 2, the level before the newest, where to look and where to act, how that was worked out, and the verdict. */
export function ControlChart({ chart, theme, onSession }: Props) {
  const { entries, centre, limits } = chart
  if (entries.length === 0) return null
  const said = limitsWords(chart)
  const [unit = '', against] = chart.unit.split(' against ')
  const across: AcrossLine[] = [
    { name: 'Median before', y: centre, look: 'centre' },
    ...(limits
      ? ([-1, 1] as const).flatMap((sign): AcrossLine[] => [
          { name: 'Warning limit', y: centre + sign * limits.warning, look: 'look' },
          { name: 'Action limit', y: centre + sign * limits.action, look: 'act' },
        ])
      : []),
  ]
  return (
    <figure className="control-chart" aria-label={chart.name}>
      <figcaption>
        <strong>{chart.name}</strong>
        <span className="faint">{against ? `against ${against}; bars k = 2` : 'bars k = 2'}</span>
      </figcaption>
      <DotPlot
        label={`Chart of ${chart.name}`}
        xTitle="Date"
        yTitle={unitSign(unit) || 'ratio'}
        theme={theme}
        dates
        height={230}
        across={across}
        series={[
          {
            name: chart.name,
            joined: true,
            dots: entries.map((e, i) => ({
              key: `${e.date}${i}`,
              x: secondsOf(e.date),
              y: e.value,
              bar: 2 * e.u,
              words: `${e.date}: ${fixed(e.value, 3)} ± ${fixed(2 * e.u, 3)}`,
              onPress: e.session === null ? undefined : () => onSession(e.session!),
            })),
          },
        ]}
      />
      <p>{chart.verdict}</p>
      {said !== undefined && <p className="faint">{said}</p>}
      {chart.findings.length > 0 && (
        <ul className="checks" aria-label={`Findings of ${chart.name}`}>
          {chart.findings.map((finding) => (
            <li
              key={`${finding.date}${finding.rule}${finding.words}`}
              className={`check check-${finding.rule === 'action' ? 'stop' : 'warning'}`}
            >
              <strong>{`${finding.date}: ${finding.words}`}</strong>
            </li>
          ))}
        </ul>
      )}
    </figure>
  )
}
