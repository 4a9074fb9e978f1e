import type { TableLook, TableMeaning } from '../../app/contract/tables.ts'

/** A column as it is being given its meaning. */
export type ColumnDraft = TableMeaning['channels'][number] & { readonly use: boolean }

/** What a person has said of a table so far. */
export interface TableDraft {
  readonly name: string
  readonly delimiter: TableMeaning['delimiter']
  readonly decimalSign: TableMeaning['decimalSign']
  readonly timeColumn: string | null
  readonly form: NonNullable<TableMeaning['time']>['form']
  /** What a time without zone means, as typed: '+01:00'. */
  readonly offset: string
  /** From when a count runs, as typed; empty: from 1970. */
  readonly start: string
  readonly columns: readonly ColumnDraft[]
}

/** The largest table a window hands over, bytes; beyond it the command line reads the file where it lies. */
export const LARGEST_TABLE = 24e6
/** How much of a table is looked at before it is imported, bytes. */
export const BEGINNING = 200_000

export const NO_TIME = '-'

export function draftOf(look: TableLook, file: string, offset: string): TableDraft {
  return {
    name: file.replace(/\.[^.]*$/, ''),
    delimiter: look.delimiter,
    decimalSign: look.decimalSign,
    timeColumn: look.time?.column ?? null,
    form: look.time?.form ?? 's',
    offset,
    start: '',
    columns: look.numbers.map(({ column, unit }, i) => ({
      column,
      name: column,
      unit,
      role: roleOf(unit, i === 0),
      use: true,
    })),
  }
}

/** Only what a thermometer gives can be a reference or under test; a temperature that came ready is watched along. */
function roleOf(unit: ColumnDraft['unit'], first: boolean): ColumnDraft['role'] {
  if (!['ratio', 'ohm', 'mV'].includes(unit)) return 'monitor'
  return first ? 'reference' : 'under-test'
}

/** The draft as the station takes it, or what is still missing, in words. */
export function meaningOf(
  draft: TableDraft,
  look: TableLook,
): { meaning: TableMeaning } | { missing: string } {
  const { delimiter, decimalSign } = draft
  if (look.own) return { meaning: { delimiter, decimalSign, time: null, channels: [] } }
  if (draft.timeColumn === null) return { missing: 'Say which column holds the time.' }
  const offsetMin = draft.offset.trim() === '' ? null : minutesOf(draft.offset)
  if (offsetMin === undefined) return { missing: 'A zone is typed as +01:00 or -05:30.' }
  const startUtcUs = draft.start.trim() === '' ? null : momentOf(draft.start, offsetMin ?? 0)
  if (startUtcUs === undefined) {
    return { missing: 'The moment from which the count runs is typed as 2026-03-01 18:00:00.' }
  }
  const channels = draft.columns.filter(({ use }) => use).map(({ use, ...channel }) => channel)
  if (channels.length === 0) return { missing: 'Tick at least one column to take in.' }
  const nameless = channels.find(({ name }) => name.trim() === '')
  if (nameless) return { missing: `Give the column ${nameless.column} a name.` }
  const time = { column: draft.timeColumn, form: draft.form, offsetMin, startUtcUs }
  return { meaning: { delimiter, decimalSign, time, channels } }
}

/** '+01:00' as minutes east of UTC; undefined for anything else. */
function minutesOf(typed: string): number | undefined {
  const match = /^([+\-\u2212])(\d{1,2})(?::?(\d{2}))?$/.exec(typed.trim())
  if (!match) return typed.trim().toUpperCase() === 'Z' ? 0 : undefined
  const minutes = Number(match[2]) * 60 + Number(match[3] ?? '0')
  return match[1] === '+' ? minutes : -minutes
}

/** '2026-03-01 18:00:00', in a zone so many minutes east of UTC, as us since 1970. */
function momentOf(typed: string, offsetMin: number): number | undefined {
  const match = /^(\d{4}-\d{2}-\d{2})[ T](\d{2}:\d{2})(:\d{2})?$/.exec(typed.trim())
  const ms = match ? Date.parse(`${match[1]}T${match[2]}${match[3] ?? ':00'}Z`) : Number.NaN
  return Number.isNaN(ms) ? undefined : ms * 1000 - offsetMin * 60e6
}

/** How this computer's clock stands to UTC at a moment, as typed. */
export function localOffset(date: Date): string {
  const minutes = -date.getTimezoneOffset()
  const [hours, rest] = [Math.floor(Math.abs(minutes) / 60), Math.abs(minutes) % 60]
  return `${minutes < 0 ? '-' : '+'}${String(hours).padStart(2, '0')}:${String(rest).padStart(2, '0')}`
}

/** Resistors and thermometers that a column can be told to have, with 'none' first. */
export function choices(entries: readonly { id: string; name: string }[]) {
  return [{ id: NO_TIME, name: 'none' }, ...entries.map(({ id, name }) => ({ id, name }))]
}
