import type { CertificateLook } from '../../app/contract/calls-register.ts'
import { Ask } from '../parts/Ask.tsx'
import { Choice, type Finder, type Option } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'

type Read = CertificateLook['values'][number]

const COLUMNS: readonly Column<Read>[] = [
  { id: 'name', name: 'What', value: ({ name }) => name, left: true, heads: true },
  { id: 'value', name: 'Value', value: ({ value }) => value },
  { id: 'unit', name: 'Unit', value: ({ unit }) => unit, left: true },
  { id: 'place', name: 'Place in the file', value: ({ place }) => place, left: true },
]

interface Props {
  look: CertificateLook
  /** Entry that it is taken into; empty: none is chosen. */
  to: string
  entries: readonly Option<string>[]
  finder: Finder | undefined
  why: string
  working: boolean
  problem: string | undefined
  onTo: (id: string) => void
  onWhy: (why: string) => void
  onTake: () => void
  onClose: () => void
}

/** A digital certificate as it was read: every value with its place, what was not read, whose signature, and for which entry. */
export function TakeCertificate(props: Props) {
  const { look, to, entries, why, problem } = props
  const { item } = look
  const own = look.entries.find(({ id }) => id === to)
  return (
    <Ask
      title={`Certificate ${look.number || 'without a number'}`}
      act="Take it into the register"
      disabled={look.broken || to === '' || why.trim() === '' || props.working}
      problem={problem}
      onAct={props.onTake}
      onClose={props.onClose}
    >
      <p>
        {`${look.laboratory || 'No laboratory is named'}, ${look.date || 'no date'}: ${[item.maker, item.model, item.name].filter(Boolean).join(', ')}, serial number ${item.serial || 'not stated'}. Digital Calibration Certificate, schema ${look.schemaVersion}.`}
      </p>
      <ul className="checks" aria-label="Signature and what was not read">
        <li className={`check ${look.broken ? 'check-error' : 'check-note'}`}>
          {look.broken ? `${look.signature} Ask its issuer for another copy.` : look.signature}
        </li>
        {look.unread.map((words) => (
          <li key={words} className="check check-warning">
            {`Not read: ${words}`}
          </li>
        ))}
      </ul>
      <Table
        label="What was read"
        rows={look.values}
        columns={COLUMNS}
        rowKey={(row) => `${row.name} ${row.place}`}
        className="certificate-values"
      />
      <Choice
        label="Calibration of"
        value={to}
        options={[...(to === '' ? [{ id: '', name: 'Choose the entry' }] : []), ...entries]}
        finder={props.finder}
        onChange={props.onTo}
      />
      {to !== '' && !own && (
        <p className="problem">
          {`The entry chosen has another serial number than the certificate (${item.serial || 'not stated'}). Make sure that it is the same instrument.`}
        </p>
      )}
      <Field
        label="Why"
        value={why}
        lines={2}
        about="Kept in the ledger. The file is kept with the calibration."
        onChange={props.onWhy}
      />
    </Ask>
  )
}
