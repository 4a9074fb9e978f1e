import { Fragment, type ReactNode, useEffect, useMemo, useRef, useState } from 'react'
import { unitSign } from '../text/numbers.ts'
import { InGrid } from './in-grid.ts'
import { Cell, Gap, Heading } from './TableCells.tsx'
import { TableLine } from './TableLine.tsx'
import type { Column } from './table.column.ts'
import { isWithin, nextSorting, type Sorting, sortRows, summary } from './table.model.ts'
import { useRowsInSight } from './table-rows.ts'
import { useCells } from './use-cells.ts'

interface Props<R> {
  label: string
  rows: readonly R[]
  /** Rows that keep their place at the end, such as a sum. */
  last?: readonly R[]
  columns: readonly Column<R>[]
  rowKey: (row: R) => string
  rowLook?: (row: R) => string
  /** Unfolded under its row. */
  below?: (row: R) => ReactNode
  sortedBy?: Sorting
  /** Classes of the region that scrolls. */
  className?: string
  /** Keeps the newest row in sight. */
  follows?: boolean
  /** A list that comes in pages: how many lines there are in all, and how to ask for the next. */
  pages?: TablePages
  /** Given where cells can be pasted: what came, and at which row and column it begins. */
  onPaste?: (cells: string[][], row: R, column: string) => void
}

/** So many lines before the end the next page is asked for. */
const NEAR_END = 40

export interface TablePages {
  total: number
  more: () => void
  /** Given where the station can put the lines in order. */
  onSort?: (sorting: Sorting | null) => void
}

/**
 * A table as a spreadsheet has it: a cursor of cells, ranges by mouse and keys, order by its headings, copies with units
 * in the headings and every digit. Keys are those of the grid pattern of the WAI-ARIA Authoring Practices: one stop of
 * Tab, arrows within, Enter for what a cell holds.
 */
export function Table<R>(props: Props<R>) {
  const { label, columns, rowKey, last, className = '' } = props
  const [sorting, setSorting] = useState<Sorting | null>(props.sortedBy ?? null)
  const host = useRef<HTMLElement>(null)
  const grid = useRef<HTMLTableElement>(null)
  const { pages } = props
  const rows = useMemo(() => {
    // Of a list in pages the station has the order.
    const by = pages?.onSort ? undefined : columns.find(({ id }) => id === sorting?.column)
    const sorted = by && sorting ? sortRows(props.rows, by.value, sorting.down) : props.rows
    return last ? [...sorted, ...last] : sorted
  }, [props.rows, last, columns, sorting, pages?.onSort])
  const sight = useRowsInSight(rows.length, host, props.follows ?? false)
  const lastInSight = sight.rows.at(-1) ?? 0
  const wantsMore = pages !== undefined && rows.length < pages.total && lastInSight >= rows.length - NEAR_END
  const more = pages?.more
  useEffect(() => {
    if (wantsMore) more?.()
  }, [wantsMore, more])
  const sortBy = (at: number) => {
    const by = columns[at]
    if (!by || by.acts || by.sorts === false) return
    cells.toHeading(at)
    const next = nextSorting(sorting, by.id)
    setSorting(next)
    pages?.onSort?.(next)
  }
  const cells = useCells({ grid, rows, columns, sight, onSort: sortBy, onPaste: props.onPaste })
  const { cursor, range, across } = cells
  // Tab always finds a cell, also where the cursor's row is out of sight and not in the page.
  const stopRow = cursor.row < 0 || sight.has(cursor.row) ? cursor.row : sight.first
  const unit = across[0]?.unit
  const oneUnit = across.every((column) => column.unit === unit)
  return (
    <div className="table-part">
      <section
        className={`table-scroll ${sight.many ? 'table-many' : ''} ${className}`}
        aria-label={label}
        ref={host}
      >
        <table
          ref={grid}
          // biome-ignore lint/a11y/noNoninteractiveElementToInteractiveRole: a grid is a table that takes keys
          role="grid"
          aria-label={label}
          aria-multiselectable="true"
          aria-rowcount={(pages?.total ?? rows.length) + 1}
          className="table"
          {...cells.handlers}
        >
          <InGrid value={true}>
            <thead>
              <tr aria-rowindex={1}>
                {columns.map((column, at) => (
                  <Heading
                    key={column.id}
                    column={column}
                    place={{ row: -1, column: at }}
                    stop={stopRow === -1 && cursor.column === at}
                    sorting={sorting?.column === column.id ? sorting : null}
                    onSort={() => sortBy(at)}
                  />
                ))}
              </tr>
            </thead>
            <tbody>
              {sight.above > 0 && <Gap height={sight.above} columns={columns.length} />}
              {sight.rows.map((at) => {
                const row = rows[at] as R
                const under = props.below?.(row)
                return (
                  <Fragment key={rowKey(row)}>
                    <tr
                      aria-rowindex={at + 2}
                      className={props.rowLook?.(row) ?? ''}
                      data-index={at}
                      ref={sight.measure}
                    >
                      {columns.map((column, i) => (
                        <Cell
                          key={column.id}
                          column={column}
                          row={row}
                          place={{ row: at, column: i }}
                          stop={stopRow === at && cursor.column === i}
                          selected={isWithin(range, at, i)}
                        />
                      ))}
                    </tr>
                    {under && (
                      <tr>
                        <td colSpan={columns.length} className="left table-below">
                          <InGrid value={false}>{under}</InGrid>
                        </td>
                      </tr>
                    )}
                  </Fragment>
                )
              })}
              {sight.below > 0 && <Gap height={sight.below} columns={columns.length} />}
            </tbody>
          </InGrid>
        </table>
      </section>
      {pages && pages.total > rows.length && (
        <p className="faint table-pages">{`${rows.length} of ${pages.total}; more come when the end is scrolled to.`}</p>
      )}
      <TableLine
        quoted={cells.quoted}
        cells={cells.cells}
        summed={oneUnit ? summary(cells.values) : undefined}
        unit={unitSign(unit ?? '')}
        onCopy={() => cells.copyRange()}
      />
    </div>
  )
}
