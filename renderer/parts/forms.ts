import { readDecimalText, readNumber } from '../text/numbers.ts'

/** Forms of the register as data: which fields a record has, how each is typed and read. */

export interface FieldSpec {
  /** Path in the record, parts joined by a point. */
  key: string
  label: string
  type: 'text' | 'number' | 'decimal' | 'date' | 'lines' | 'decimals' | 'matrix' | 'choice' | 'flag'
  optional?: boolean
  unit?: string
  units?: Readonly<Record<string, number>>
  about?: string
  /** Of a flag those of 'yes' and 'no'. */
  choices?: readonly { id: string; name: string; about?: string }[]
  /** What leaving an optional choice open is called. */
  none?: string
  /** Size of the shown unit in that of the record: 1e-6 for a relative value shown in ppm. */
  scale?: number
  /** Whether the field has a meaning beside what else is typed; without it, it always has. */
  when?: (texts: Texts) => boolean
}

export type Texts = Readonly<Record<string, string>>
type Json = Record<string, unknown>

function at(record: unknown, key: string): unknown {
  return key
    .split('.')
    .reduce<unknown>(
      (value, part) => (typeof value === 'object' && value !== null ? (value as Json)[part] : undefined),
      record,
    )
}

function put(record: Json, key: string, value: unknown): void {
  const parts = key.split('.')
  const last = parts.pop()!
  let inner = record
  for (const part of parts) {
    inner[part] ??= {}
    inner = inner[part] as Json
  }
  inner[last] = value
}

const yesNo = (value: boolean) => (value ? 'yes' : 'no')

/** Without the noise of the last binary digit. */
const clean = (value: number): number => Number(value.toPrecision(12))

/** The fields that have a meaning beside what else is typed. */
export const fieldsFor = (specs: readonly FieldSpec[], texts: Texts): readonly FieldSpec[] =>
  specs.filter(({ when }) => when === undefined || when(texts))

/** What the fields show of a record. */
export function textsOf(record: unknown, specs: readonly FieldSpec[]): Texts {
  return Object.fromEntries(
    specs.map(({ key, scale }) => {
      const kept = at(record, key)
      const value = typeof kept === 'number' && scale ? clean(kept / scale) : kept
      return [
        key,
        value === undefined || value === null
          ? ''
          : typeof value === 'boolean'
            ? yesNo(value)
            : Array.isArray(value)
              ? value.join('\n')
              : String(value),
      ]
    }),
  )
}

export interface ReadForm {
  record: Json
  problems: Record<string, string>
}

/** The record that the texts make; what cannot be read is named by its field. */
export function readForm(texts: Texts, specs: readonly FieldSpec[]): ReadForm {
  const record: Json = {}
  const problems: Record<string, string> = {}
  for (const spec of fieldsFor(specs, texts)) {
    const text = (texts[spec.key] ?? '').trim()
    if (text === '') {
      if (!spec.optional) {
        if (spec.type === 'text') put(record, spec.key, '')
        else if (spec.type === 'lines') put(record, spec.key, [])
        else problems[spec.key] = 'This is needed'
      }
      continue
    }
    const typed = readField(text, spec)
    const value = typeof typed === 'number' && spec.scale ? clean(typed * spec.scale) : typed
    if (value === undefined) problems[spec.key] = wanted(spec)
    else put(record, spec.key, value)
  }
  return { record, problems }
}

function readField(text: string, spec: FieldSpec): unknown {
  switch (spec.type) {
    case 'number':
      return readNumber(text, spec.units ?? {})
    case 'decimal':
      return readDecimalText(text)
    case 'date':
      return /^\d{4}-\d{2}-\d{2}$/.test(text) ? text : undefined
    case 'lines':
      return text
        .split('\n')
        .map((line) => line.trim())
        .filter(Boolean)
    case 'decimals': {
      const all = text
        .split(/[\n;\t]+|,\s+|\s+/)
        .filter(Boolean)
        .map(readDecimalText)
      return all.includes(undefined) ? undefined : all
    }
    case 'matrix':
      return readMatrix(text)
    case 'flag':
      return text === yesNo(true)
    case 'text':
    case 'choice':
      return text
  }
}

/**
 * A symmetric matrix as it is printed: a row in each line, whole or only up to its diagonal. A first line of words, such as
 * 'R0 A B', is passed over.
 */
export function readMatrix(text: string): number[][] | undefined {
  const rows = text
    .split('\n')
    .map((line) => line.split(/[;\t]+|,\s+|\s+/).filter(Boolean))
    .filter((cells) => cells.length > 0)
    .filter((cells, i) => i > 0 || cells.some((cell) => readNumber(cell) !== undefined))
    .map((cells) => cells.map((cell) => readNumber(cell)))
  const n = rows.length
  const isWhole = rows.every((row) => row.length === n)
  const isLower = rows.every((row, i) => row.length === i + 1)
  if (n === 0 || !(isWhole || isLower) || rows.flat().includes(undefined)) return undefined
  return rows.map((_, i) => rows.map((_, j) => (isWhole || j <= i ? rows[i]![j]! : rows[j]![i]!)))
}

function wanted(spec: FieldSpec): string {
  switch (spec.type) {
    case 'number':
      return `A number${spec.unit ? ` of ${spec.unit}` : ''}`
    case 'decimal':
      return 'A number as on the certificate, such as 100.00518 or -5,775e-7'
    case 'decimals':
      return 'Numbers, one in each line'
    case 'matrix':
      return 'A row of numbers in each line, as many as there are coefficients; half of it will do'
    case 'date':
      return 'A date such as 2026-02-10'
    default:
      return 'Something else is needed here'
  }
}
