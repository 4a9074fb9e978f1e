import { existsSync, statSync } from 'node:fs'
import { isoUtc } from '../../../app/base/clock.ts'
import { said } from '../../../app/messages/said.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { SessionInfo } from '../../../app/records/session.ts'
import { isDamage, StoreError } from '../errors.ts'
import { type LostStretch, readingPages } from '../pages.ts'
import { openSessionFile, type SessionFile } from '../session-file.ts'
import { unknownInfo } from '../unknown-session.ts'
import { copySession } from './copy.ts'
import { CsvRows } from './csv-rows.ts'
import { type OutFile, writeThenRename } from './file.ts'
import { ParquetExport } from './parquet.ts'
import { ShownReadings } from './shown.ts'
import { SqliteTableExport } from './sqlite-table.ts'
import { csvHeader, jsonLines } from './text.ts'

export const EXPORT_FORMATS = ['csv', 'csv-semicolon', 'jsonl', 'parquet', 'sqlite', 'sqlite-table'] as const
export type ExportFormat = (typeof EXPORT_FORMATS)[number]

export interface ExportOptions {
  format: ExportFormat
  out: string
  /** Both forms of CSV only: what the file is about, as lines that begin with #, before the header. */
  comments?: boolean
  /** A file of the same name is replaced only where this says so. */
  replace?: boolean
  signal?: Pick<AbortSignal, 'throwIfAborted'>
}

export interface ExportResult {
  path: string
  bytes: number
  readings: number
  /** Readings the session should have and that could not be read. */
  lost: LostStretch[]
  head: string
}

const PAGE = { csv: 1000, 'csv-semicolon': 5000, jsonl: 5000, parquet: 1000, 'sqlite-table': 5000 } as const

/**
 * Writes a session's readings to a file in one of the plain formats. Reads page by page, also while the session is
 * written; the file has its name only when it is whole. Throws StoreError 'exists', 'disk-full', 'damaged' ...
 */
export async function exportSession(path: string, options: ExportOptions): Promise<ExportResult> {
  const { format, out, signal } = options
  if (!options.replace && existsSync(out))
    throw new StoreError('exists', said('export-exists', { out }), { out })
  if (format === 'sqlite') {
    const { readings, head } = await copySession(path, out, signal)
    return { path: out, bytes: statSync(out).size, readings, lost: [], head }
  }
  const file = openSessionFile(path, { mode: 'read' })
  try {
    return writeThenRename(out, (target) => {
      const about = aboutOf(file)
      const lost: LostStretch[] = []
      const write = rowWriter(format, target, file, options.comments ?? false)
      let readings = 0
      try {
        for (const page of readingPages(file, { pageSize: PAGE[format] })) {
          signal?.throwIfAborted()
          write.rows(page.readings)
          readings += page.readings.length
          for (const stretch of page.lost) lost.push(stretch)
        }
        write.end()
      } finally {
        write.close()
      }
      const bytes = statSync(target.partPath).size
      return { path: out, bytes, readings, lost, head: about['chain head']! }
    })
  } finally {
    file.close()
  }
}

function rowWriter(
  format: Exclude<ExportFormat, 'sqlite'>,
  out: OutFile,
  file: SessionFile,
  comments: boolean,
): {
  rows(readings: readonly Reading[]): void
  end(): void
  /** Lets go of the file, also of one that did not become whole. */
  close(): void
} {
  const about = aboutOf(file)
  const shown = new ShownReadings(file)
  const shownOf = (reading: Reading) => shown.of(reading)
  if (format === 'parquet' || format === 'sqlite-table') {
    const table =
      format === 'parquet' ? new ParquetExport(out, about) : new SqliteTableExport(out.partPath, about)
    return {
      rows: (readings) => {
        if (readings.length > 0) table.write(readings, shownOf)
      },
      end: () => table.finish(),
      close: () => table.close(),
    }
  }
  const style = format === 'csv-semicolon' ? 'comma' : 'point'
  if (format !== 'jsonl') {
    if (comments)
      for (const [key, value] of Object.entries(about)) out.write(`# ${key}: ${oneLine(value)}\r\n`)
    out.write(csvHeader(style))
  }
  const rows = new CsvRows(style)
  return {
    rows: (readings) => {
      if (readings.length > 0)
        out.write(format === 'jsonl' ? jsonLines(readings, shownOf) : rows.bytes(readings, shownOf))
    },
    end: () => undefined,
    close: () => undefined,
  }
}

const oneLine = (text: string) => text.replaceAll(/[\r\n]+/g, ' ')

/** What a table of readings is about: who, when, with what, and the head of the chain it was taken from. */
export function aboutOf(file: SessionFile): Record<string, string> {
  const { setup } = file
  const info = infoOf(file)
  return {
    session: info.id,
    name: info.name,
    laboratory: setup.laboratory.name,
    operator: info.operator,
    started: isoUtc(info.startedUtcUs),
    ended: info.endedUtcUs === null ? '' : isoUtc(info.endedUtcUs),
    ending: info.ending === null ? '' : `${info.ending}: ${info.endingReason ?? ''}`,
    program: `${info.program} ${info.programVersion}`,
    readings: String(file.readingCount),
    'chain head': file.head(),
  }
}

function infoOf(file: SessionFile): SessionInfo {
  try {
    return file.info
  } catch (fault) {
    if (!isDamage(fault)) throw fault
    return unknownInfo(file.path)
  }
}
