import { compareResistors, type ResistorSet } from '../../../app/checks/resistor-set.ts'
import { readNumber } from '../../text/numbers.ts'
import type { Rows } from './checks.store.ts'
import { filled, type RatioColumn } from './ratios.model.ts'

export const SET_RATIOS: readonly RatioColumn[] = [
  { key: 'over', label: 'Resistor', words: true },
  { key: 'under', label: 'over resistor', words: true },
  { key: 'ratio', label: 'n' },
  { key: 'u', label: 'u(n)' },
]
export const SET_KNOWN: readonly RatioColumn[] = [
  { key: 'resistor', label: 'Resistor', words: true },
  { key: 'ohm', label: 'Value, Ω' },
  { key: 'uRelative', label: 'u, relative' },
]

/** What a table says, row by row, and which of its cells cannot be read. */
function read(rows: Rows, columns: readonly RatioColumn[]) {
  const problems: Record<string, string> = {}
  const values = rows.map((row, i) =>
    Object.fromEntries(
      columns.map(({ key, words }) => {
        const text = (row[key] ?? '').trim()
        if (words) {
          if (text === '') problems[`${i} ${key}`] = 'A name'
          return [key, text]
        }
        const value = readNumber(text, { ppm: 1e-6, ppb: 1e-9 })
        if (value === undefined || value <= 0) problems[`${i} ${key}`] = 'A number above 0'
        return [key, value ?? Number.NaN]
      }),
    ),
  )
  return { values, problems }
}

export interface SetOfResistors {
  readonly result: ResistorSet | undefined
  /** Why there is none yet, in words. */
  readonly missing: string | undefined
  readonly ratioProblems: Record<string, string>
  readonly knownProblems: Record<string, string>
}

/** Several resistors compared at once, or what is missing for it. */
export function setOfResistors(ratioRows: Rows, knownRows: Rows): SetOfResistors {
  const ratios = read(filled(ratioRows), SET_RATIOS)
  const known = read(filled(knownRows), SET_KNOWN)
  const found = { ratioProblems: ratios.problems, knownProblems: known.problems, result: undefined }
  if (ratios.values.length === 0)
    return {
      ...found,
      missing: 'Give the ratios of pairs of resistors, and the value of one that is known.',
    }
  if (Object.keys(ratios.problems).length + Object.keys(known.problems).length > 0)
    return { ...found, missing: 'Some cells hold no name or number yet.' }
  try {
    const result = compareResistors(
      ratios.values as unknown as Parameters<typeof compareResistors>[0],
      known.values as unknown as Parameters<typeof compareResistors>[1],
    )
    return { ...found, result, missing: undefined }
  } catch (fault) {
    return { ...found, missing: fault instanceof Error ? fault.message : String(fault) }
  }
}
