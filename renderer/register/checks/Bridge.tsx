import { type ReactNode, useState } from 'react'
import type { Resistor } from '../../../app/records/register.ts'
import { Button } from '../../parts/Button.tsx'
import { Choice, type Finder } from '../../parts/Choice.tsx'
import { Field } from '../../parts/Field.tsx'
import type { Rows } from './checks.store.ts'
import { RatioTable } from './RatioTable.tsx'
import { type BridgePage, RATIO_COLUMNS } from './ratios.model.ts'

interface Props {
  page: BridgePage
  bridges: readonly { id: string; name: string }[]
  finder: Finder | undefined
  instrument: string
  date: string
  rows: Rows
  problems: Record<string, string>
  fromSession: ReactNode
  onInstrument: (id: string) => void
  onDate: (date: string) => void
  onRows: (rows: Rows) => void
  onCombinations: (names: readonly string[]) => void
  resistors: readonly Resistor[]
  resistorFinder: Finder | undefined
  onKnown: (over: Resistor, under: Resistor) => void
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
        <Choice
          label="Bridge"
          value={instrument}
          options={bridges}
          finder={props.finder}
          onChange={props.onInstrument}
        />
        <Field label="Date" about="Such as 2026-02-10." value={props.date} onChange={props.onDate} />
        {page === 'networks' && (
          <>
            <Field
              label="Resistors, by their letters"
              value={names}
              onChange={setNames}
              about="Two to four."
            />
            <div className="row row-fields">
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
      {page === 'ratios' && (
        <Known resistors={props.resistors} resistorFinder={props.resistorFinder} onKnown={props.onKnown} />
      )}
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

/** Two resistors of the register whose certificates give the ratio. */
function Known({
  resistors,
  resistorFinder,
  onKnown,
}: Pick<Props, 'resistors' | 'resistorFinder' | 'onKnown'>) {
  const calibrated = resistors.filter(({ calibrations }) => calibrations.length > 0)
  const [ids, setIds] = useState<{ over?: string; under?: string }>({})
  const over = calibrated.find(({ id }) => id === ids.over) ?? calibrated[0]
  const under = calibrated.find(({ id }) => id === ids.under) ?? calibrated.find((r) => r !== over)
  if (!over || !under)
    return (
      <p className="faint">
        With two calibrated resistors in the register, their ratio can be taken from there.
      </p>
    )
  return (
    <div className="fields wide-fields">
      <Choice
        label="Resistor at the unknown"
        value={over.id}
        options={calibrated}
        finder={resistorFinder}
        onChange={(id) => setIds({ over: id, under: under.id })}
      />
      <Choice
        label="Resistor at the reference"
        value={under.id}
        options={calibrated}
        finder={resistorFinder}
        onChange={(id) => setIds({ over: over.id, under: id })}
      />
      <div className="row row-end">
        <Button onPress={() => onKnown(over, under)} disabled={over === under}>
          Take their ratio as known
        </Button>
      </div>
    </div>
  )
}
