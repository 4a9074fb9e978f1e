import type { PlotData } from './plots/plot.ts'

/** One number of the report under a stable key: what `prove` compares and what a thread unfolds. */
export interface ReportNumber {
  readonly name: string
  /** Honest text: rounded to the place its uncertainty deserves, always with a decimal point. */
  readonly value: string
  readonly unit: string
  /** Expanded uncertainty in the same unit, two significant digits. */
  readonly uncertainty: string | null
  readonly k: string | null
  /** The double behind the text, so that a comparison is exact. */
  readonly exact: number
}

/** A cell is text, or a number by its key. */
export type Cell = string | { readonly key: string; readonly show: 'value' | 'uncertainty' | 'k' }

export interface Column {
  readonly head: string
  readonly unit?: string
  readonly align: 'left' | 'right' | 'decimal'
}

/** The report's parts in order; HTML and PDF are two ways of printing the same list. */
export type Block =
  | { readonly kind: 'heading'; readonly level: 1 | 2; readonly text: string; readonly breakBefore?: boolean }
  | {
      readonly kind: 'text'
      readonly text: string
      readonly style?: 'plain' | 'small' | 'caution' | 'statement'
    }
  | {
      /** One paragraph in two languages beside one another. */
      readonly kind: 'side-by-side'
      readonly texts: readonly string[]
      readonly style?: 'plain' | 'small' | 'statement'
    }
  | {
      readonly kind: 'facts'
      readonly rows: readonly { readonly label: string; readonly cells: readonly Cell[] }[]
    }
  | {
      readonly kind: 'table'
      readonly caption: string
      readonly columns: readonly Column[]
      readonly rows: readonly (readonly Cell[])[]
      readonly note?: string
    }
  /** The box of an electronic signature. */
  | { readonly kind: 'signature'; readonly text: string }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  | { readonly kind: 'figure'; readonly caption: string; readonly plot: PlotData }
