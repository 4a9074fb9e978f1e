import type { ReactNode } from 'react'
import type { PlanPreview } from '../../app/contract/studies.ts'
import { Problem } from '../parts/Problem.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { Tick } from '../parts/Tick.tsx'
import { bytes, fixed } from '../text/numbers.ts'
import { clockTime, duration } from '../text/times.ts'

interface Props {
  preview: PlanPreview | undefined
  problem: string | undefined
  nowUtcUs: number
  strip: ReactNode
  accepted: readonly string[]
  onAccept: (id: string, on: boolean) => void
}

/** The night before it happens: when what, until when, and what would go wrong. */
export function Preview({ preview, problem, nowUtcUs, strip, accepted, onAccept }: Props) {
  if (!preview)
    return (
      <section className="sheet" aria-label="Preview">
        <h2>The night, if it starts now</h2>
        <Problem words={problem} />
        {!problem && <p className="faint">Give every setpoint a temperature and the night appears here.</p>}
      </section>
    )
  const order = { stop: 0, warning: 1, note: 2, fine: 3 }
  const checks = [...preview.checks].sort((a, b) => order[a.severity] - order[b.severity])
  return (
    <section className="sheet" aria-label="Preview">
      <h2>The night, if it starts now</h2>
      <p className="preview-end">
        {`Ends about ${clockTime(nowUtcUs + preview.totalS * 1e6)}, in ${duration(preview.totalS)}.`}
        <span className="faint">{` About ${fixed(preview.readings, 0)} readings, ${bytes(preview.bytes)}.`}</span>
      </p>
      {strip}
      <Problem words={problem} />
      <ul className="checks" aria-label="Checks">
        {checks.map((check) => (
          <li key={check.id} className={`check check-${check.severity}`}>
            <strong>{check.words}</strong>
            {check.remedy && <small>{check.remedy}</small>}
            {check.severity === 'warning' && (
              <Tick on={accepted.includes(check.id)} onChange={(on) => onAccept(check.id, on)}>
                I know, and take it on
              </Tick>
            )}
          </li>
        ))}
      </ul>
      <details>
        <summary>Step by step</summary>
        <Scroll label="Steps of the night">
          <table className="table">
            <thead>
              <tr>
                <th scope="col">Setpoint / °C</th>
                <th scope="col">Begins</th>
                <th scope="col">Travel</th>
                <th scope="col">Settling</th>
                <th scope="col">Reading</th>
                <th scope="col">Done</th>
              </tr>
            </thead>
            <tbody>
              {preview.steps.map((step) => (
                <tr key={step.step}>
                  <th scope="row">{fixed(step.celsius, 2)}</th>
                  <td>{clockTime(nowUtcUs + step.startS * 1e6)}</td>
                  <td>{duration(step.travelS)}</td>
                  <td>{duration(step.settleS)}</td>
                  <td>{duration(step.measureS)}</td>
                  <td>{clockTime(nowUtcUs + step.endS * 1e6)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      </details>
    </section>
  )
}
