import { superscript } from '../../app/base/powers.ts'
import type { Comparison } from '../../app/contract/studies.ts'
import type { ReportNumbers } from '../text/report-numbers.ts'

export interface ComparedRow {
  key: string
  what: string
  old: string
  new: string
  /** null where it is not a number: 'was not there', a time. */
  difference: number | null
  differenceWords: string
  unit: string
  changed: boolean
  /** Size of the difference as a part of the expanded uncertainty printed for the number; null where none is. */
  part: number | null
  /** Size of the difference as a part of the number itself, for those without an uncertainty. */
  relative: number
  why: string
}

const numeric = (text: string): number | null => {
  if (text.trim() === '') return null
  const n = Number(text)
  return Number.isFinite(n) ? n : null
}

const printed = (text: string | null | undefined): number | null => (text ? numeric(text) : null)

/** The expanded uncertainty of a number, in its own unit, from what the report says of it or of its point. */
export function expandedOf(key: string, numbers: ReportNumbers): number | null {
  const own = numbers[key]
  const cut = key.lastIndexOf('.')
  const base = key.slice(0, cut)
  const field = key.slice(cut + 1)
  const expanded = numbers[`${base}.expanded`]?.exact
  if (field !== 'expanded' && own?.uncertainty) return printed(own.uncertainty)
  if (expanded === undefined) return null
  if (field === 'residual') return expanded
  if (field === 't90') return expanded / 1000
  const slope = numbers[`${base}.slope`]?.exact
  return field === 'signal' && slope !== undefined ? (expanded / 1000) * Math.abs(slope) : null
}

/**
 * Lines of a comparison, the largest change first: by its part of the expanded uncertainty, then, for numbers that have
 * none, by its part of the number; what stayed the same comes last in its own order.
 */
export function comparedRows(
  lines: Comparison['lines'],
  numbers: ReportNumbers,
  why: (key: string) => string,
): ComparedRow[] {
  const rows = lines.map((line): ComparedRow => {
    const difference = numeric(line.difference)
    const expanded = expandedOf(line.key, numbers)
    const size = Math.abs(difference ?? 0)
    const old = Math.abs(numeric(line.old) ?? 0)
    return {
      key: line.key,
      what: line.what,
      old: line.old,
      new: line.new,
      difference,
      differenceWords: line.difference,
      unit: line.unit,
      changed: line.changed,
      part: line.changed && difference !== null && expanded !== null && expanded > 0 ? size / expanded : null,
      relative: difference === null ? Number.POSITIVE_INFINITY : old > 0 ? size / old : size,
      why: line.changed ? why(line.key) : '',
    }
  })
  const changed = rows.filter((row) => row.changed)
  changed.sort(
    (a, b) => (b.part ?? -1) - (a.part ?? -1) || (a.relative === b.relative ? 0 : b.relative - a.relative),
  )
  return [...changed, ...rows.filter((row) => !row.changed)]
}

/** A number of the report as it stands there, in the reader's style; words and times stay what they are. */
export function inStyle(text: string, sign: '.' | ','): string {
  if (numeric(text) === null) return text
  const [mantissa = '', power] = text.toLowerCase().split('e')
  const styled = mantissa.replace('.', sign).replace('-', '\u2212')
  return power === undefined ? styled : `${styled}\u00d710${superscript(Number(power))}`
}

export const numberOr = (text: string): number | string => numeric(text) ?? text
