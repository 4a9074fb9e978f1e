import {
  type ClipboardEvent,
  type FocusEvent,
  type KeyboardEvent,
  type MouseEvent,
  type RefObject,
  useLayoutEffect,
  useRef,
  useState,
} from 'react'
import { type Measured, measuredPlain, measuredWords } from '../text/measured.ts'
import { copy } from '../text/save.ts'
import { copyTable } from './copy-table.ts'
import type { Column } from './table.column.ts'
import { clamped, isOne, moved, type Place, pastedCells, rangeOf, type Selection } from './table.model.ts'
import type { RowsInSight } from './table-rows.ts'

interface Given<R> {
  grid: RefObject<HTMLTableElement | null>
  rows: readonly R[]
  columns: readonly Column<R>[]
  sight: RowsInSight
  onSort: (column: number) => void
  onPaste: ((cells: string[][], row: R, column: string) => void) | undefined
}

const START: Selection = { anchor: { row: 0, column: 0 }, cursor: { row: 0, column: 0 } }

const isField = (target: EventTarget): boolean =>
  target instanceof HTMLElement && target.matches('input, textarea, select, [contenteditable="true"]')

/** Enter on a cell does what it holds: a button is pressed, a field is gone into. */
function enter(cell: HTMLElement): void {
  const inside = cell.querySelector<HTMLElement>('button, a[href], input, textarea, select')
  if (inside && isField(inside)) inside.focus()
  else inside?.click()
}

/** Brings the cursor's cell into sight and gives it the focus, once it is drawn. */
function useFocusOn(
  grid: RefObject<HTMLTableElement | null>,
  cursor: Place,
  wanted: RefObject<boolean>,
): void {
  useLayoutEffect(() => {
    if (!wanted.current) return
    const key = `${cursor.row}.${cursor.column}`
    const cell = grid.current?.querySelector<HTMLElement>(`:scope > * > tr > [data-cell="${key}"]`)
    if (!cell) return
    wanted.current = false
    cell.focus({ preventScroll: true })
    cell.scrollIntoView({ block: 'nearest', inline: 'nearest' })
  })
}

/** What a selection takes of the rows: without columns that hold only acts. */
function takenIn<R>(selection: Selection, rows: readonly R[], columns: readonly Column<R>[]) {
  const range = rangeOf(selection)
  const top = Math.max(0, range.top)
  const one = isOne(selection)
  const { row, column } = selection.cursor
  const quoted: Measured | null =
    one && row >= 0 ? (columns[column]?.measured?.(rows[row] as R) ?? null) : null
  return {
    range,
    top,
    one,
    taken: rows.slice(top, range.bottom + 1),
    across: columns.slice(range.left, range.right + 1).filter(({ acts }) => !acts),
    /** The one number under the cursor, as it is quoted. */
    quoted,
  }
}

/** The cursor and the range of a table of cells, and what keys, mouse and clipboard do with them. */
export function useCells<R>({ grid, rows, columns, sight, onSort, onPaste }: Given<R>) {
  const [chosen, setChosen] = useState<Selection>(START)
  const takesFocus = useRef(false)
  const size = { rows: rows.length, columns: columns.length, page: sight.page }
  const selection = clamped(chosen, size)
  const { cursor } = selection
  const { range, top, one, taken, across, quoted } = takenIn(selection, rows, columns)

  const select = (next: Selection) => {
    takesFocus.current = true
    setChosen(next)
    if (next.cursor.row >= 0 && !sight.has(next.cursor.row)) sight.show(next.cursor.row)
  }
  useFocusOn(grid, cursor, takesFocus)

  const copyRange = (clipboard?: DataTransfer) =>
    copyTable(
      across,
      taken,
      one && cursor.row >= 0 ? 'One cell' : `${taken.length} by ${across.length} cells`,
      {
        headings: !one || cursor.row < 0,
        clipboard,
      },
    )
  const isOwn = (target: EventTarget) =>
    target instanceof Element && target.closest('[role="grid"]') === grid.current
  const placeOf = (target: EventTarget): Place | undefined => {
    const cell = target instanceof Element ? target.closest<HTMLElement>('[data-cell]') : null
    if (!cell || !isOwn(cell)) return undefined
    const [row = 0, column = 0] = cell.dataset.cell!.split('.').map(Number)
    return { row, column }
  }

  const onKeyDown = (event: KeyboardEvent) => {
    const { target, altKey } = event
    if (event.defaultPrevented || altKey || !isOwn(target)) return
    const done = isField(target) ? leaveField(event) : onCell(event)
    if (done) event.preventDefault()
  }
  const leaveField = ({ key }: KeyboardEvent): boolean => {
    if (key === 'Escape') select(selection)
    return key === 'Escape'
  }
  /** Whether the key meant the cell and was followed. */
  const onCell = ({ target, key, shiftKey: shift, ctrlKey, metaKey }: KeyboardEvent): boolean => {
    const mod = ctrlKey || metaKey
    if (!mod && (key === 'Enter' || key === 'F2')) {
      if (!(target as Element).matches('[data-cell]')) return false
      if (cursor.row < 0) onSort(cursor.column)
      else enter(target as HTMLElement)
      return true
    }
    if (!mod && quoted && key.toLowerCase() === 'c') {
      const text = shift ? measuredPlain(quoted) : measuredWords(quoted)
      copy(text, text)
      return true
    }
    const next = moved(selection, { key, shift, mod }, size)
    if (next) select(next)
    return next !== undefined
  }
  return {
    range,
    cursor,
    quoted,
    /** Cells of the range, and their numbers; none where it is one cell alone. */
    cells: one ? 0 : taken.length * across.length,
    values: one ? [] : taken.flatMap((row) => across.map((column) => column.value(row))),
    across,
    copyRange,
    /** Puts the cursor on a heading, as after it was pressed. */
    toHeading: (column: number) => select({ anchor: { row: -1, column }, cursor: { row: -1, column } }),
    handlers: {
      onKeyDown,
      // Before what is in the cell hears of it: a pressed button keeps its press to itself.
      onMouseDownCapture(event: MouseEvent) {
        const place = placeOf(event.target)
        if (!place || place.row < 0 || event.button !== 0 || isField(event.target)) return
        // The cell takes the focus, not what is in it, and no text is marked while a range is drawn.
        event.preventDefault()
        select({
          anchor: event.shiftKey && selection.anchor.row >= 0 ? selection.anchor : place,
          cursor: place,
        })
      },
      onMouseOver(event: MouseEvent) {
        const place = placeOf(event.target)
        if (!place || place.row < 0 || event.buttons !== 1) return
        if (place.row !== cursor.row || place.column !== cursor.column)
          select({ anchor: selection.anchor, cursor: place })
      },
      onClickCapture(event: MouseEvent) {
        // With Shift a click chooses cells; what they hold is left alone.
        if (!event.shiftKey || !placeOf(event.target)) return
        event.preventDefault()
        event.stopPropagation()
      },
      onFocus(event: FocusEvent) {
        const place = placeOf(event.target)
        if (takesFocus.current || !place || !(event.target as Element).matches('[data-cell]')) return
        if (place.row !== cursor.row || place.column !== cursor.column)
          setChosen({ anchor: place, cursor: place })
      },
      onCopy(event: ClipboardEvent) {
        if (!isOwn(event.target) || isField(event.target)) return
        event.preventDefault()
        copyRange(event.clipboardData)
      },
      onPaste(event: ClipboardEvent) {
        const row = rows[top]
        const column = columns[range.left]
        if (!onPaste || !isOwn(event.target) || !row || !column || isField(event.target)) return
        event.preventDefault()
        onPaste(pastedCells(event.clipboardData.getData('text/plain')), row, column.id)
      },
    },
  }
}
