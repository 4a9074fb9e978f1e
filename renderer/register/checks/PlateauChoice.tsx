import type { Cell } from '../../../app/records/cell.ts'
import type { FixedPointName } from '../../../app/thermometry/fixed-points.ts'
import { Choice } from '../../parts/Choice.tsx'
import { Field } from '../../parts/Field.tsx'
import {
  CELL_CHOICES,
  CELL_FIELDS,
  type CellDraft,
  cellName,
  HEATING_FIELDS,
  type HeatingChoice,
} from './cells.model.ts'
import type { SessionChoice } from './sessions.connect.tsx'

interface Props {
  draft: CellDraft
  sessions: readonly SessionChoice[]
  /** Those of the register: depth, pressure and uncertainty come from their entries where nothing is typed. */
  cells: readonly Cell[]
  channels: readonly { id: string; name: string }[]
  channel: string
  problems: Record<string, string>
  onSession: (id: string) => void
  onDraft: (change: Partial<CellDraft>) => void
}

const HEATING: readonly { id: HeatingChoice; name: string; about: string }[] = [
  {
    id: 'session',
    name: 'From two currents, where the session has them',
    about: 'Else the register’s figure.',
  },
  { id: 'register', name: 'From the register', about: 'In proportion to I²R.' },
  { id: 'typed', name: 'As typed', about: 'Measured elsewhere.' },
]

/** Which record, which cell, and what is known of it. */
export function PlateauChoice({
  draft,
  sessions,
  cells,
  channels,
  channel,
  problems,
  onSession,
  onDraft,
}: Props) {
  const fields = draft.heating === 'typed' ? [...CELL_FIELDS, ...HEATING_FIELDS] : CELL_FIELDS
  return (
    <section className="sheet" aria-label="The record">
      <h3>The record</h3>
      <div className="fields wide-fields">
        <Choice label="Session" value={draft.session} options={sessions} onChange={onSession} />
        <Choice
          label="Channel in the cell"
          value={channel}
          options={channels}
          onChange={(id) => onDraft({ channel: id, used: null })}
        />
        <Choice
          label="Cell"
          value={draft.cell ?? draft.fixedPoint}
          options={[
            ...cells.map(({ id, name, fixedPoint, uMk }) => ({
              id,
              name,
              about: `${cellName(fixedPoint)}, u ${uMk} mK`,
            })),
            ...CELL_CHOICES,
          ]}
          onChange={(id) => {
            const own = cells.find((cell) => cell.id === id)
            const fixedPoint = (own?.fixedPoint ?? id) as FixedPointName
            onDraft({ cell: own?.id, fixedPoint, used: null })
          }}
        />
        <Choice
          label="Self-heating"
          value={draft.heating}
          options={HEATING}
          onChange={(heating) => onDraft({ heating })}
        />
      </div>
      <div className="fields">
        {fields.map((field) => (
          <Field
            key={field.key}
            label={field.label}
            numeric
            unit={field.unit}
            value={draft.texts[field.key] ?? ''}
            problem={problems[field.key]}
            about={'about' in field ? field.about : undefined}
            onChange={(text) => onDraft({ texts: { ...draft.texts, [field.key]: text } })}
          />
        ))}
      </div>
    </section>
  )
}
