import { at, last } from '../../../app/base/lists.ts'
import type { Block, Column } from '../../../app/report/blocks.ts'
import { cellWords, tableWords } from '../../../app/report/print.ts'
import type { Printable } from '../../../app/report/printable.ts'
import { printedProse } from '../../../app/report/prose.ts'

/** How the words of a report are folded into a page's width, and how high they will stand. */

export const TABLE_PT = 8
/** Widths of characters in parts of the type size, in classes: enough to share a page's width between columns. */
const WIDTHS: readonly (readonly [RegExp, number])[] = [
  [/[\u200b]/, 0],
  [/[ .,:;'’|iIjl()[\]/-]/, 0.29],
  [/[frt]/, 0.37],
  [/[mwMW%@]/, 0.88],
  [/[A-ZΩΣ∂−×]/, 0.67],
]
const OTHER_WIDTH = 0.57
const CELL_PADDING_PT = 12
/** Words longer than this may be cut anywhere, so that no name runs out of its column; shorter ones too where columns are many. */
const LONGEST_WORDS = [24, 14, 9, 6] as const

const BREAK_HERE = '\u200b'

/** Long names may be cut after their own joints, or else anywhere. */
export function breakable(text: string, longest: number = LONGEST_WORDS[0]): string {
  return text.replace(new RegExp(`\\S{${longest + 1},}`, 'g'), (word) =>
    word
      .replace(/([-_/.:,;@])(?=\S)/g, `$1${BREAK_HERE}`)
      .split(BREAK_HERE)
      .flatMap((part) => part.match(new RegExp(`.{1,${longest}}`, 'gu')) ?? [])
      .join(BREAK_HERE),
  )
}

/** Width of a text in parts of the type size. */
const lengthOf = (text: string) =>
  [...text].reduce((sum, c) => sum + (WIDTHS.find(([kind]) => kind.test(c))?.[1] ?? OTHER_WIDTH), 0)

const widthOf = (text: string) => lengthOf(text) * TABLE_PT + CELL_PADDING_PT

type Widths = ('auto' | '*' | number)[]

/**
 * Columns keep their natural width where all fit; else those of words share what the numbers leave. null where not even the
 * longest words have room.
 */
function columnWidths(columns: readonly Column[], lines: readonly string[][], width: number): Widths | null {
  const natural = lines.map((own) => Math.max(...own.map(widthOf)))
  const whole = natural.reduce((sum, w) => sum + w, 0)
  if (whole <= width) return columns.map(() => 'auto' as const)
  const isWords = columns.map(({ align }) => align === 'left')
  const longestWord = lines.map((own) =>
    Math.max(...own.flatMap((line) => line.split(/[\s\u200b]+/).map(widthOf))),
  )
  const taken = natural.reduce((sum, w, i) => sum + (isWords[i] ? 0 : Math.min(w, at(longestWord, i))), 0)
  // Every column of words has room for its longest word; what is left goes to where lines have to be folded.
  const least = natural.reduce((sum, _, i) => sum + (isWords[i] ? at(longestWord, i) : 0), 0)
  if (taken + least > width) return null
  const wanted = natural.reduce((sum, w, i) => sum + (isWords[i] ? w - at(longestWord, i) : 0), 0)
  const share = Math.min(1, (width - taken - least) / Math.max(1, wanted))
  return natural.map((w, i) =>
    isWords[i] ? at(longestWord, i) + share * (w - at(longestWord, i)) - CELL_PADDING_PT : ('auto' as const),
  )
}

interface FittedTable {
  readonly heads: readonly (readonly string[])[]
  readonly texts: readonly (readonly string[])[]
  readonly widths: Widths
}

/** A table's heads and texts, cut so that they fit, and the widths of its columns. */
export function fitted(
  block: Extract<Block, { kind: 'table' }>,
  report: Printable,
  width: number,
): FittedTable {
  const prose = (text: string) => printedProse(text, report.decimalSign)
  const words = tableWords(block, report)
  const { columns } = block
  const cut = (longest: number) => ({
    texts: words.map((row) => row.map((text) => breakable(text, longest))),
    heads: columns.map(({ head, unit }) => [head, unit ?? ''].map((text) => breakable(prose(text), longest))),
  })
  for (const longest of LONGEST_WORDS) {
    const { texts, heads } = cut(longest)
    const lines = columns.map((_, i) => [...at(heads, i), ...texts.map((row) => row[i] ?? '')])
    const widths = columnWidths(columns, lines, width)
    if (widths) return { texts, heads, widths }
  }
  return { ...cut(last(LONGEST_WORDS)), widths: columns.map(() => '*' as const) }
}

const TEXT_PT = 9.2
const LABELS_PT = 118
/** Labels in two languages take more, and never more than this part of the page. */
const MOST_LABELS = 0.4
const TWO_LANGUAGES = ' / '

/** Width of the column of labels beside facts, pt. */
export const labelWidth = (rows: readonly { readonly label: string }[], width: number): number =>
  Math.max(
    LABELS_PT,
    ...rows
      .filter(({ label }) => label.includes(TWO_LANGUAGES))
      .map(({ label }) => Math.min(MOST_LABELS * width, Math.ceil(lengthOf(label) * TEXT_PT) + 2)),
  )
/** Height of a line in parts of the type size, and what stands between lines that do not fill to their end. */
const LINE = 1.25
const FOLDING = 1.12
const GAP_PT = 14

const textHeight = (text: string, size: number, width: number) =>
  Math.ceil((lengthOf(text) * size * FOLDING) / width) * size * LINE

function tableHeight(block: Extract<Block, { kind: 'table' }>, report: Printable, width: number): number {
  const { texts, widths } = fitted(block, report, width)
  const rows = texts.map((row) => {
    const heights = row.map((text, i) => {
      const own = at(widths, i)
      const room = own === 'auto' ? Number.POSITIVE_INFINITY : own === '*' ? width / row.length : own
      return text === '' ? 0 : textHeight(text, TABLE_PT, Math.max(TABLE_PT, room))
    })
    return Math.max(TABLE_PT * LINE, ...heights) + 5
  })
  const note = block.note ? textHeight(block.note, 7.8, width) : 0
  return rows.reduce((sum, h) => sum + h, 0) + note + 4 * GAP_PT
}

/** About how high a block will stand, on the high side: what is kept whole has to fit on a page, or it is lost. */
export function heightOf(block: Block, report: Printable, width: number): number {
  switch (block.kind) {
    case 'heading':
      return textHeight(block.text, block.level === 1 ? 21 : 12.5, width) + 2 * GAP_PT
    case 'text':
      return textHeight(block.text, TEXT_PT, width) + GAP_PT
    case 'list':
      return block.items.reduce((sum, item) => sum + textHeight(item, TEXT_PT, width - 12) + 2, GAP_PT)
    case 'signature':
      return 3 * GAP_PT
    case 'side-by-side':
      return Math.max(...block.texts.map((text) => textHeight(text, TEXT_PT, width / 2 - GAP_PT))) + GAP_PT
    case 'facts': {
      const room = width - labelWidth(block.rows, width) - CELL_PADDING_PT
      return block.rows.reduce(
        (sum, { cells }) =>
          sum + cells.reduce((own, cell) => own + textHeight(cellWords(cell, report), TEXT_PT, room), 4),
        GAP_PT,
      )
    }
    case 'table':
      return tableHeight(block, report, width)
    case 'figure':
      return FIGURE_PT
  }
}

/** The highest figure: five rows of panels under one another. */
const FIGURE_PT = 520
