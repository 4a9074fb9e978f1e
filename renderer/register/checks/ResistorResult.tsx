import type { ResistorComparisonResult } from '../../../app/checks/resistor-check.ts'
import type { CheckRequest } from '../../../app/contract/check-request.ts'
import { inForce } from '../../../app/records/register.ts'
import { resistorValue } from '../../../app/thermometry/resistor.ts'
import { Problem } from '../../parts/Problem.tsx'
import { DotPlot } from '../../plots/DotPlot.tsx'
import { fixed, significant } from '../../text/numbers.ts'
import { parts, withU } from './written.ts'

interface Props {
  request: Extract<CheckRequest, { check: 'resistor' }>
  result: ResistorComparisonResult | undefined
  problem: string | undefined
  theme: string
}

const secondsOf = (date: string) => Date.parse(date) / 1000

/** The value, what was expected of it, and how it drifts. */
export function ResistorResult({ request, result, problem, theme }: Props) {
  if (!result) return <Problem words={problem} />
  const { resistor, better, date } = request
  const standard = inForce(better.calibrations, date)!
  const rs = resistorValue(standard, better.keptAtC, date, better.uKeptAtK)
  const { expected, drift } = result
  const first = Number(resistor.calibrations[0]?.ohm ?? result.ohm)
  const history = [
    ...resistor.calibrations.map((c) => ({
      date: c.date,
      ohm: Number(c.ohm),
      u: c.expandedRelative / c.k,
      words: c.certificate,
    })),
    { date, ohm: result.ohm, u: result.uRelative, words: 'this comparison' },
  ]
  return (
    <section className="sheet" aria-label="The value">
      <h3>The value</h3>
      <dl className="facts result-facts">
        <dt>{`${resistor.name} on ${date}`}</dt>
        <dd>
          <strong>{withU(result.ohm, result.ohm * result.uRelative, 'Ω')}</strong>
          {` at ${fixed(resistor.keptAtC, 2)} °C`}
        </dd>
        {expected && (
          <>
            <dt>Expected on the day</dt>
            <dd>{`${fixed(expected.ohm, 7)} Ω, by its calibration in force and its drift`}</dd>
            <dt>Difference</dt>
            <dd>{`${parts(expected.difference)}, U ${parts(expected.expanded)}: ${fixed(Math.abs(expected.difference) / expected.expanded, 2)} of U`}</dd>
          </>
        )}
        <dt>Drift</dt>
        <dd>
          {drift
            ? `${parts(drift.perYear)} a year, U ${parts(2 * drift.u)}. ${drift.words}`
            : 'not known from one value'}
        </dd>
      </dl>
      <div className={`check check-${!expected || expected.agrees ? 'fine' : 'warning'}`} role="status">
        <strong>
          {expected === null
            ? 'The register had no calibration of it on that day: there is nothing to hold the value against.'
            : expected.agrees
              ? 'It agrees with what was expected.'
              : 'It has moved by more than the uncertainty allows. Measure again; then take the new value, and compare more often.'}
        </strong>
      </div>
      <DotPlot
        label={`Values of ${resistor.name}`}
        xTitle="Date"
        yTitle="From the first / 10⁻⁶"
        theme={theme}
        dates
        series={[
          {
            name: 'Values, bars k = 2',
            joined: true,
            dots: history.map((h, i) => ({
              key: `${h.date}${i}`,
              x: secondsOf(h.date),
              y: (h.ohm / first - 1) * 1e6,
              bar: 2 * h.u * 1e6,
              words: `${h.date}, ${h.words}: ${fixed(h.ohm, 7)} Ω`,
            })),
          },
        ]}
      />
      <details>
        <summary>How this came about</summary>
        <dl className="facts">
          <dt>Formula</dt>
          <dd>R = n Rs; u²(R)/R² = u²(n)/n² + u²(Rs)/Rs²</dd>
          <dt>n</dt>
          <dd>{`${request.ratio.toPrecision(12)}, u ${significant(request.uRatio, 3)}`}</dd>
          <dt>{`Rs, ${better.name}`}</dt>
          <dd>{`${fixed(rs.ohm, 7)} Ω at ${fixed(better.keptAtC, 2)} °C on ${date}, u ${parts(rs.relativeUncertainty)}; certificate ${standard.certificate} of ${standard.date}: ${standard.ohm} Ω at ${standard.celsius} °C`}</dd>
          <dt>Temperature correction</dt>
          <dd>{`alpha ${significant(standard.alphaPerK, 3)} and beta ${significant(standard.betaPerK2, 3)} over ${fixed(better.keptAtC - standard.celsius, 2)} K`}</dd>
          <dt>Drift since then</dt>
          <dd>{`${parts(standard.driftPerYear)} a year over ${fixed((secondsOf(date) - secondsOf(standard.date)) / 31_557_600, 2)} years`}</dd>
        </dl>
      </details>
    </section>
  )
}
