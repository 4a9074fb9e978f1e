import type { ReactNode } from 'react'
import type { Measured } from '../text/measured.ts'
import type { CellValue } from './table.model.ts'

export interface Column<R> {
  id: string
  /** Plain words; the unit is put behind them, on the screen and in a copy. */
  name: string
  unit?: string
  /** What the cell stands for, with all its digits: it is sorted and copied by this. */
  value: (row: R) => CellValue
  /** How it is shown; left out, the value as it stands. */
  show?: (row: R) => ReactNode
  /** The number with its uncertainty, where it can be quoted alone. */
  measured?: (row: R) => Measured | null
  /** Words stand left, numbers right. */
  left?: boolean
  /** Names its row. */
  heads?: boolean
  /** Holds buttons alone: neither sorted nor copied. */
  acts?: boolean
  /** false where the order of the rows is their meaning. */
  sorts?: boolean
  about?: string
  /** Classes of a cell. */
  look?: (row: R) => string
}
