import type { ReactNode } from 'react'
import { unitSign } from '../text/numbers.ts'
import { Raised } from './Raised.tsx'
import type { Column } from './table.column.ts'
import type { Place, Sorting } from './table.model.ts'

interface HeadingProps<R> {
  column: Column<R>
  place: Place
  /** Where Tab comes in. */
  stop: boolean
  sorting: Sorting | null
  onSort: () => void
}

const keyOf = ({ row, column }: Place): string => `${row}.${column}`

export function Heading<R>({ column, place, stop, sorting, onSort }: HeadingProps<R>) {
  const { name, unit, acts, sorts, left, heads, about } = column
  const orders = !acts && sorts !== false
  const sign = unitSign(unit ?? '')
  const words: ReactNode = (
    <>
      {name}
      {sign && (
        <>
          {' / '}
          <Raised text={sign} />
        </>
      )}
    </>
  )
  return (
    <th
      scope="col"
      data-cell={keyOf(place)}
      tabIndex={stop ? 0 : -1}
      className={left || heads ? 'left' : ''}
      aria-sort={sorting ? (sorting.down ? 'descending' : 'ascending') : orders ? 'none' : undefined}
      title={about}
    >
      {acts ? (
        <span className="unseen">{name}</span>
      ) : orders ? (
        <button type="button" className="table-sort" tabIndex={-1} onClick={onSort}>
          {words}
          <span
            aria-hidden="true"
            className={`table-order ${sorting ? (sorting.down ? 'is-down' : 'is-up') : ''}`}
          />
        </button>
      ) : (
        words
      )}
    </th>
  )
}

interface CellProps<R> {
  column: Column<R>
  row: R
  place: Place
  stop: boolean
  selected: boolean
}

export function Cell<R>({ column, row, place, stop, selected }: CellProps<R>) {
  const { heads, left, look, show, value } = column
  const shared = {
    'data-cell': keyOf(place),
    tabIndex: stop ? 0 : -1,
    'aria-selected': selected,
    className: [left || heads ? 'left' : '', selected ? 'is-selected' : '', look?.(row) ?? '']
      .filter(Boolean)
      .join(' '),
  }
  const inside = show ? show(row) : value(row)
  return heads ? (
    <th scope="row" {...shared}>
      {inside}
    </th>
  ) : (
    <td {...shared}>{inside}</td>
  )
}

/** Room for the rows that are out of sight. */
export function Gap({ height, columns }: { height: number; columns: number }) {
  return (
    // biome-ignore lint/a11y/noAriaHiddenOnFocusable: it takes no focus, and a row of nothing is not to be read out
    <tr aria-hidden="true" className="table-gap">
      <td colSpan={columns} style={{ height }} />
    </tr>
  )
}
