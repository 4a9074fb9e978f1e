import { DELIMITERS, type TableLook, TIME_FORMS } from '../../app/contract/tables.ts'
import { CHANNEL_ROLES } from '../../app/records/bench.ts'
import { RAW_UNITS } from '../../app/records/reading.ts'
import type { Choices } from '../client/records.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { NumberField } from '../parts/NumberField.tsx'
import { Problem } from '../parts/Problem.tsx'
import { Scroll } from '../parts/Scroll.tsx'
import { Tick } from '../parts/Tick.tsx'
import { type ColumnDraft, choices, NO_TIME, type TableDraft } from './import.model.ts'

interface Props {
  file: string
  look: TableLook
  draft: TableDraft
  thermometers: Choices
  resistors: Choices
  /** What is still missing, in words. */
  missing: string | undefined
  problem: string | undefined
  working: boolean
  onChange: (draft: TableDraft) => void
  onImport: () => void
  onClose: () => void
}

const SIGN_NAMES: Record<(typeof DELIMITERS)[number], string> = {
  ',': 'comma',
  ';': 'semicolon',
  '\t': 'tab',
  '|': 'bar',
}
const FORM_NAMES: Record<(typeof TIME_FORMS)[number], string> = {
  iso: 'date and time',
  s: 'seconds',
  ms: 'milliseconds',
  us: 'microseconds',
}
const ROLE_NAMES: Record<(typeof CHANNEL_ROLES)[number], string> = {
  reference: 'reference',
  'under-test': 'under test',
  check: 'check',
  monitor: 'monitor',
}

/** Gives the columns of a table recorded elsewhere their meaning, and makes a session of it. */
export function ImportTable(props: Props) {
  const { file, look, draft, missing, problem, working, onChange } = props
  return (
    <article className="stack import" aria-label="Import a table">
      <div className="row row-apart">
        <h2 className="place-title">{`Import ${file}`}</h2>
        <Button look="quiet" onPress={props.onClose}>
          Close
        </Button>
      </div>
      <p>
        {look.own
          ? 'This program exported the table, so its columns are known. It becomes a session of its own.'
          : 'The table becomes a session that can be looked through, converted and compared like any other. Every cell is kept as it is written.'}
      </p>
      <Problem words={problem} />
      <Field
        label="Name of the session"
        value={draft.name}
        onChange={(name) => onChange({ ...draft, name })}
      />
      <FirstRows look={look} />
      {!look.own && <HowWritten {...props} />}
      {!look.own && <Columns {...props} />}
      <div className="row">
        <Button look="main" onPress={props.onImport} disabled={missing !== undefined || working}>
          Import
        </Button>
        {missing && <p className="faint">{missing}</p>}
        {working && (
          <p className="working" role="status">
            Reading the table
          </p>
        )}
      </div>
    </article>
  )
}

function FirstRows({ look }: { look: TableLook }) {
  return (
    <Scroll label="First rows of the table">
      <table className="table">
        <thead>
          <tr>
            {look.columns.map((column) => (
              <th key={column} scope="col">
                {column}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {look.rows.map((row) => (
            <tr key={row.join('\u0000')}>
              {look.columns.map((column, i) => (
                <td key={column}>{row[i]}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  )
}

function HowWritten({ look, draft, onChange }: Props) {
  return (
    <div className="import-fields">
      <Choice
        label="Between cells"
        value={draft.delimiter}
        options={DELIMITERS.map((id) => ({ id, name: SIGN_NAMES[id] }))}
        onChange={(delimiter) => onChange({ ...draft, delimiter })}
      />
      <Choice
        label="Decimal sign"
        value={draft.decimalSign}
        options={[
          { id: '.', name: 'point' },
          { id: ',', name: 'comma' },
        ]}
        onChange={(decimalSign) => onChange({ ...draft, decimalSign })}
      />
      <Choice
        label="Column of the time"
        value={draft.timeColumn ?? NO_TIME}
        options={[
          { id: NO_TIME, name: 'none yet' },
          ...look.columns.map((column) => ({ id: column, name: column })),
        ]}
        onChange={(id) => onChange({ ...draft, timeColumn: id === NO_TIME ? null : id })}
      />
      <Choice
        label="Time is written as"
        value={draft.form}
        options={TIME_FORMS.map((id) => ({ id, name: FORM_NAMES[id] }))}
        onChange={(form) => onChange({ ...draft, form })}
      />
      {draft.form === 'iso' && look.time?.zoned !== true && (
        <Field
          label="Zone of the times"
          value={draft.offset}
          about="+01:00 is an hour ahead of UTC."
          onChange={(offset) => onChange({ ...draft, offset })}
        />
      )}
      {draft.form !== 'iso' && (
        <Field
          label="The count runs from"
          value={draft.start}
          about="Such as 2026-03-01 18:00:00. Left empty: from 1970."
          onChange={(start) => onChange({ ...draft, start })}
        />
      )}
    </div>
  )
}

function Columns({ draft, thermometers, resistors, onChange }: Props) {
  const set = (at: number, change: Partial<ColumnDraft>) =>
    onChange({
      ...draft,
      columns: draft.columns.map((column, i) => (i === at ? withoutEmpty({ ...column, ...change }) : column)),
    })
  const chosen = (id: string) => (id === NO_TIME ? undefined : id)
  return (
    <section className="stack" aria-label="Columns">
      <h3>Columns to take in</h3>
      {draft.columns.length === 0 && <p className="faint">No column holds numbers.</p>}
      {draft.columns.map((column, i) => (
        <fieldset key={column.column} className="import-column">
          <legend>
            <Tick on={column.use} onChange={(use) => set(i, { use })}>
              {column.column}
            </Tick>
          </legend>
          {column.use && (
            <div className="import-fields">
              <Field label="Name" value={column.name} onChange={(name) => set(i, { name })} />
              <Choice
                label="Unit"
                value={column.unit}
                options={RAW_UNITS.map((id) => ({
                  id,
                  name: id === 'degC' ? '°C' : id === 'ohm' ? 'Ω' : id,
                }))}
                onChange={(unit) => set(i, { unit })}
              />
              <Choice
                label="Role"
                value={column.role}
                options={CHANNEL_ROLES.map((id) => ({ id, name: ROLE_NAMES[id] }))}
                onChange={(role) => set(i, { role })}
              />
              <Choice
                label="Thermometer"
                value={column.thermometer ?? NO_TIME}
                options={choices(thermometers.lines)}
                finder={thermometers.finder}
                onChange={(id) => set(i, { thermometer: chosen(id) })}
              />
              {column.unit === 'ratio' && (
                <Choice
                  label="Reference resistor"
                  value={column.resistor ?? NO_TIME}
                  options={choices(resistors.lines)}
                  finder={resistors.finder}
                  onChange={(id) => set(i, { resistor: chosen(id) })}
                />
              )}
              <NumberField
                label="Current"
                unit="mA"
                optional
                value={column.currentMa}
                onChange={(currentMa) => set(i, { currentMa })}
              />
            </div>
          )}
        </fieldset>
      ))}
    </section>
  )
}

/** An optional member that was taken away again is left out, not kept as undefined. */
function withoutEmpty(column: { [K in keyof ColumnDraft]: ColumnDraft[K] | undefined }): ColumnDraft {
  return Object.fromEntries(
    Object.entries(column).filter(([, value]) => value !== undefined),
  ) as unknown as ColumnDraft
}
