import type { ReactNode } from 'react'
import { counted } from '../../app/base/plural.ts'
import { duration } from '../../app/base/times.ts'
import type { PlanHelp, PlanPreview } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { Tick } from '../parts/Tick.tsx'
import { bytes, fixed } from '../text/numbers.ts'
import { clockTime } from '../text/times.ts'
import { groupChecks, helpWords } from './checks.model.ts'

interface Props {
  preview: PlanPreview | undefined
  /** Every setpoint has a temperature: the preview is being worked out. */
  working: boolean
  problem: string | undefined
  nowUtcUs: number
  strip: ReactNode
  accepted: readonly string[]
  onAccept: (ids: readonly string[], on: boolean) => void
  onHelp: (help: PlanHelp) => void
}

/** More than this of one kind are folded up. */
const MOST_SHOWN = 3

function Words({ checks }: { checks: PlanPreview['checks'] }) {
  if (checks.length === 0) return null
  return (
    <ul className="check-others">
      {checks.map(({ id, words }) => (
        <li key={id}>{words}</li>
      ))}
    </ul>
  )
}

/** The night before it happens: when what, until when, and what would go wrong. */
export function Preview({ preview, working, problem, nowUtcUs, strip, accepted, onAccept, onHelp }: Props) {
  if (!preview)
    return (
      <section className="sheet preview" aria-label="Preview">
        <h2>The night, if it starts now</h2>
        <Problem words={problem} />
        {!problem && (
          <p className="faint">
            {working
              ? 'The preview is being worked out.'
              : 'Give every setpoint a temperature and the night appears here.'}
          </p>
        )}
      </section>
    )
  const groups = groupChecks(preview.checks)
  const byHand = preview.steps.some(({ actsS }) => actsS > 0)
  return (
    <section className="sheet preview" aria-label="Preview">
      <h2>The night, if it starts now</h2>
      <p className="preview-end">
        {`Ends about ${clockTime(nowUtcUs + preview.totalS * 1e6)}, in ${duration(preview.totalS)}.`}
        <span className="faint">{` About ${counted(preview.readings, 'reading')}, ${bytes(preview.bytes)}. ${
          preview.nights > 0
            ? `Times by ${counted(preview.nights, 'earlier night')} on this bench.`
            : 'Times as usual: no night on this bench yet.'
        }`}</span>
      </p>
      {strip}
      <Problem words={problem} />
      <ul className="checks" aria-label="Checks">
        {groups.map(({ first, others, ids }) => (
          <li key={first.id} className={`check check-${first.severity}`}>
            <strong>{first.words}</strong>
            {others.length > MOST_SHOWN ? (
              <details>
                <summary>{`The same of ${others.length} more`}</summary>
                <Words checks={others} />
              </details>
            ) : (
              <Words checks={others} />
            )}
            {first.remedy && <small>{first.remedy}</small>}
            {(first.help || first.severity === 'warning') && (
              <div className="row check-acts">
                {first.help && <Button onPress={() => onHelp(first.help!)}>{helpWords(first.help)}</Button>}
                {first.severity === 'warning' && (
                  <Tick on={ids.every((id) => accepted.includes(id))} onChange={(on) => onAccept(ids, on)}>
                    {others.length === 0 ? 'Accept this warning' : `Accept these ${ids.length} warnings`}
                  </Tick>
                )}
              </div>
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
                {byHand && <th scope="col">By hand</th>}
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
                  {byHand && <td>{step.actsS > 0 ? duration(step.actsS) : '–'}</td>}
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
