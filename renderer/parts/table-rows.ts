import { useVirtualizer } from '@tanstack/react-virtual'
import { type RefObject, useLayoutEffect, useState } from 'react'

/** From so many rows on only those in sight are in the page. */
export const MANY_ROWS = 150
const ROW_PX = 32
/** The headings stand over the first rows of what is scrolled. */
const HEAD_PX = 36

export interface RowsInSight {
  many: boolean
  /** Numbers of the rows in the page, in order. */
  rows: readonly number[]
  first: number
  /** Room that stands for the rows above and below, px. */
  above: number
  below: number
  /** Rows that a page key goes by. */
  page: number
  has: (row: number) => boolean
  show: (row: number) => void
  measure: ((row: HTMLTableRowElement | null) => void) | undefined
}

const upTo = (count: number): readonly number[] => Array.from({ length: count }, (_, i) => i)

/** Which rows of a long table are in the page. */
export function useRowsInSight(
  count: number,
  host: RefObject<HTMLElement | null>,
  follows: boolean,
): RowsInSight {
  const many = count > MANY_ROWS
  // The table's own host is there only after the first paint.
  const [, setReady] = useState(false)
  const list = useVirtualizer({
    count: many ? count : 0,
    getScrollElement: () => host.current,
    estimateSize: () => ROW_PX,
    overscan: 16,
    scrollPaddingStart: HEAD_PX,
  })
  useLayoutEffect(() => setReady(true), [])
  useLayoutEffect(() => {
    if (!follows || count === 0) return
    if (many) list.scrollToIndex(count - 1, { align: 'end' })
    else host.current?.scrollTo({ top: host.current.scrollHeight })
  }, [count, follows, many, list, host])
  const page = Math.max(1, Math.floor((host.current?.clientHeight ?? 0) / ROW_PX) - 2)
  if (!many)
    return {
      many,
      rows: upTo(count),
      first: 0,
      above: 0,
      below: 0,
      page,
      has: () => true,
      show: () => undefined,
      measure: undefined,
    }
  const items = list.getVirtualItems()
  const first = items[0]?.index ?? 0
  const last = items.at(-1)?.index ?? 0
  return {
    many,
    rows: items.map(({ index }) => index),
    first,
    above: items[0]?.start ?? 0,
    below: list.getTotalSize() - (items.at(-1)?.end ?? 0),
    page,
    has: (row) => row >= first && row <= last,
    show: (row) => list.scrollToIndex(row),
    measure: list.measureElement,
  }
}
