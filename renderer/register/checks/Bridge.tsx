import { type ReactNode, useState } from 'react'
import { Button } from '../../parts/Button.tsx'
import { Choice } from '../../parts/Choice.tsx'
import { Field } from '../../parts/Field.tsx'
import type { Rows } from './checks.store.ts'
import { RatioTable } from './RatioTable.tsx'
import { type BridgePage, RATIO_COLUMNS } from './ratios.model.ts'

interface Props {
  page: BridgePage
  bridges: readonly { id: string; name: string }[]
  instrument: string
  date: string
  rows: Rows
  problems: Record<string, string>
  fromSession: ReactNode
  onInstrument: (id: string) => void
  onDate: (date: string) => void
  onRows: (rows: Rows) => void
  onCombinations: (names: readonly string[]) => void
}

/** Which bridge, when, and the ratios it showed. */
export function Bridge(props: Props) {
  const { page, bridges, instrument, rows } = props
  const [names, setNames] = useState('a, b, c')
  const letters = [...new Set(names.split(/[\s,;]+/).filter(Boolean))]
  return (
    <section className="sheet" aria-label="The ratios">
      <h3>The ratios</h3>
      <div className="fields">
        <Choice label="Bridge" value={instrument} options={bridges} onChange={props.onInstrument} />
        <Field label="Date" type="date" value={props.date} onChange={props.onDate} />
        {page === 'networks' && (
          <>
            <Field
              label="Resistors, by their letters"
              value={names}
              onChange={setNames}
              about="Two to four."
            />
            <div className="row row-end">
              <Button
                onPress={() => props.onCombinations(letters)}
                disabled={letters.length < 2 || letters.length > 4}
              >
                List their combinations
              </Button>
            </div>
          </>
        )}
      </div>
      <RatioTable
        label="Ratios, one row each"
        columns={RATIO_COLUMNS[page]}
        rows={rows}
        problems={props.problems}
        onRows={props.onRows}
      />
      <div className="row">
        <Button look="quiet" onPress={() => props.onRows([])} disabled={rows.length === 0}>
          Empty the table
        </Button>
        <span className="faint">
          u is a standard uncertainty, in ratio. Paste from a spreadsheet into any cell.
        </span>
      </div>
      {props.fromSession}
    </section>
  )
}
