import { Button } from '../../parts/Button.tsx'
import { Field } from '../../parts/Field.tsx'
import type { Rows } from './checks.store.ts'
import { type RatioColumn, withPasted } from './ratios.model.ts'

interface Props {
  label: string
  columns: readonly RatioColumn[]
  rows: Rows
  problems: Record<string, string>
  onRows: (rows: Rows) => void
}

/** Ratios as they are typed or pasted from a spreadsheet; one empty row is always there to go on in. */
export function RatioTable({ label, columns, rows, problems, onRows }: Props) {
  const shown = [...rows, {}] as Rows
  const put = (row: number, key: string, text: string) =>
    onRows(
      shown
        .map((old, i) => (i === row ? { ...old, [key]: text } : old))
        .filter((r, i) => i < rows.length || Object.keys(r).length > 0),
    )
  return (
    <section className="table-scroll" aria-label={label}>
      <table className="table ratio-table">
        <thead>
          <tr>
            {columns.map(({ key, label: heading, words }) => (
              <th key={key} scope="col" className={words ? 'left' : ''}>
                {heading}
              </th>
            ))}
            <th scope="col">
              <span className="unseen">Take out</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {shown.map((row, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: a row has no name but its place
            <tr key={i}>
              {columns.map((column, j) => (
                <td key={column.key} className={column.words ? 'left' : ''}>
                  <Field
                    label={`${column.label}, row ${i + 1}`}
                    compact
                    numeric={!column.words}
                    value={row[column.key] ?? ''}
                    problem={i < rows.length ? problems[`${i} ${column.key}`] : undefined}
                    onChange={(text) => put(i, column.key, text)}
                    onPaste={(text) => {
                      if (!/[\t\n]/.test(text)) return false
                      onRows(withPasted(rows, columns, { row: i, column: j }, text))
                      return true
                    }}
                  />
                </td>
              ))}
              <td>
                {i < rows.length && (
                  <Button
                    look="quiet"
                    label={`Take out row ${i + 1}`}
                    onPress={() => onRows(rows.filter((_, n) => n !== i))}
                  >
                    Take out
                  </Button>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}
