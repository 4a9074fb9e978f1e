import { useEffect, useRef, useState } from 'react'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { Tick } from '../parts/Tick.tsx'
import type { PlanAct, PlanDraft } from './plan.model.ts'
import { SetpointRow } from './SetpointRow.tsx'

interface Props {
  rows: PlanDraft['rows']
  problems: Record<string, string>
  act: (a: PlanAct) => void
  spread: { from: string; to: string; count: string; back: boolean }
  onSpread: (spread: Props['spread']) => void
  onSpreadNow: () => void
  onPaste: (key: number, text: string) => void
}

/** Setpoints: typed, pasted from a spreadsheet, or spread evenly. */
export function Setpoints({ rows, problems, act, spread, onSpread, onSpreadNow, onPaste }: Props) {
  const table = useRef<HTMLTableElement>(null)
  const [goTo, setGoTo] = useState<number | null>(null)
  // Enter goes on to the next temperature, as in a spreadsheet: what is typed next belongs there.
  useEffect(() => {
    if (goTo === null) return
    table.current?.querySelectorAll<HTMLInputElement>('tbody input[inputmode="decimal"]')[goTo]?.focus()
    setGoTo(null)
  }, [goTo])
  return (
    <section className="sheet" aria-label="Setpoints">
      <h2>Setpoints</h2>
      <Scroll label="Table of setpoints">
        <table className="table setpoints" ref={table}>
          <thead>
            <tr>
              <th scope="col" className="left">
                Order
              </th>
              <th scope="col">Temperature</th>
              <th scope="col" className="left">
                Label
              </th>
              <th scope="col" className="left">
                Also there
              </th>
              <th scope="col">
                <span className="unseen">Acts</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row, i) => (
              <SetpointRow
                key={row.key}
                row={row}
                n={i + 1}
                of={rows.length}
                problem={problems[`row-${row.key}`]}
                act={act}
                onPaste={onPaste}
                onNext={() => {
                  if (i === rows.length - 1) act({ do: 'add' })
                  setGoTo(i + 1)
                }}
              />
            ))}
          </tbody>
        </table>
      </Scroll>
      <div className="row">
        <Button onPress={() => act({ do: 'add' })}>Add a setpoint</Button>
        <Button disabled={rows.length < 2} onPress={() => act({ do: 'turn' })}>
          And back again
        </Button>
      </div>
      <p className="faint">
        A column copied from a spreadsheet can be pasted into any temperature. One temperature labelled up and
        down shows hysteresis. A self-heating pair reads every thermometer at two currents there; for an
        exchange the station asks somebody to let the thermometers change places, for a lift to pull them out
        by 20 mm: best at the first and the hottest setpoint.
      </p>
      <details>
        <summary>Spread evenly</summary>
        <div className="row row-end spread">
          <Field
            label="From"
            numeric
            unit="°C"
            value={spread.from}
            onChange={(from) => onSpread({ ...spread, from })}
          />
          <Field
            label="To"
            numeric
            unit="°C"
            value={spread.to}
            onChange={(to) => onSpread({ ...spread, to })}
          />
          <Field
            label="How many"
            numeric
            value={spread.count}
            onChange={(count) => onSpread({ ...spread, count })}
          />
          <Tick on={spread.back} onChange={(back) => onSpread({ ...spread, back })}>
            and back again
          </Tick>
          <Button onPress={onSpreadNow}>Replace the setpoints</Button>
        </div>
      </details>
    </section>
  )
}
