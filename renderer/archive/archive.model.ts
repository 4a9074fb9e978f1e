import type { SESSION_SORTS } from '../../app/contract/pages.ts'
import type { ArchiveRow } from '../../app/contract/studies.ts'
import { ENDING_WORDS } from '../../app/records/session.ts'
import type { Sorting } from '../parts/table.model.ts'

export const sessionName = (name: string): string => name || 'Session without a name'

/** How a session stands, in a few words; what is wrong with its file comes before all else. */
export const endingWords = ({ damaged, info }: ArchiveRow): string =>
  damaged ?? (info.ending ? ENDING_WORDS[info.ending] : 'running')

const NAMES_SHOWN = 3
/** Thermometers of a session by name, the first few of them. */
export function thermometerNames(ids: readonly string[], names: ReadonlyMap<string, string>): string {
  const all = ids.map((id) => names.get(id) ?? id)
  const more = all.length - NAMES_SHOWN
  return more > 0 ? `${all.slice(0, NAMES_SHOWN).join(', ')} and ${more} more` : all.join(', ')
}

export const FORMATS = [
  { id: 'csv', name: 'CSV', about: 'Readings as text for any program' },
  { id: 'csv-semicolon', name: 'CSV with decimal comma', about: 'Readings for spreadsheets that write 1,04' },
  { id: 'parquet', name: 'Parquet', about: 'Readings as columns for data tools' },
  { id: 'jsonl', name: 'JSON lines', about: 'One reading a line' },
  { id: 'json', name: 'JSON', about: 'The report as data' },
  { id: 'sqlite-table', name: 'SQLite table', about: 'Readings as one table for any program' },
  { id: 'sqlite', name: 'Session file', about: 'The whole session, an SQLite database' },
  { id: 'html', name: 'HTML', about: 'The report as a page' },
  { id: 'pdf', name: 'PDF', about: 'The report on paper' },
] as const
export type Format = (typeof FORMATS)[number]['id']

export const SUFFIX: Record<Format, string> = {
  csv: 'csv',
  'csv-semicolon': 'csv',
  parquet: 'parquet',
  jsonl: 'jsonl',
  json: 'json',
  sqlite: 'sqlite',
  'sqlite-table': 'sqlite',
  html: 'html',
  pdf: 'pdf',
}

/** A session's small plot as an SVG path in a box of 100 by 20; gaps stay open. */
export function sketchPath(sketch: ArchiveRow['sketch']): string {
  const known = sketch.filter((v): v is number => v !== null && Number.isFinite(v))
  if (known.length < 2) return ''
  const low = Math.min(...known)
  const span = Math.max(...known) - low || 1
  let path = ''
  let pen = false
  for (const [i, value] of sketch.entries()) {
    if (value === null || !Number.isFinite(value)) {
      pen = false
      continue
    }
    path += `${pen ? 'L' : 'M'}${((i / (sketch.length - 1)) * 100).toFixed(1)} ${(19 - ((value - low) / span) * 18).toFixed(1)}`
    pen = true
  }
  return path
}

/** How the station is asked to put the sessions in order, by the column of the table; undefined: the newest first. */
export function sessionOrder(sorting: Sorting | null): { sort: SessionSort; reverse: boolean } {
  const sort = sorting ? SORT_OF[sorting.column] : undefined
  return sort && sorting ? { sort, reverse: !sorting.down } : { sort: 'started', reverse: false }
}

type SessionSort = (typeof SESSION_SORTS)[number]
const SORT_OF: Readonly<Record<string, SessionSort>> = {
  name: 'name',
  began: 'started',
  length: 'length',
  points: 'points',
  readings: 'readings',
  operator: 'operator',
  signed: 'signed',
  size: 'bytes',
}
