import { statSync } from 'node:fs'
import type { VerifyResult } from '../../app/contract/studies.ts'
import { markBits } from '../../app/records/mark.ts'
import { backupSession, type CopyResult } from './export/copy.ts'
import { type ExportOptions, type ExportResult, exportSession } from './export/export.ts'
import { type ImportOptions, type ImportResult, importCsv } from './import/csv.ts'
import type { Overview } from './overview.ts'
import type { Cancel, Runner } from './serve-thread.ts'
import { type OverviewQuery, openSessionFile, type ReadingsQuery, type SessionFile } from './session-file.ts'
import { type StretchQuery, type StretchStatistics, stretchStatistics } from './stretch-statistics.ts'
import { type VerifyOptions, verifySession } from './verify.ts'

/** Readings of one channel as columns. A value is NaN where the reading has no number. */
export interface ReadingColumns {
  seq: Float64Array<ArrayBuffer>
  utcUs: Float64Array<ArrayBuffer>
  monoUs: Float64Array<ArrayBuffer>
  value: Float64Array<ArrayBuffer>
  /** Bits of the marks, see markBits. */
  marks: Uint32Array<ArrayBuffer>
  raw: string[]
  unit: string | null
}

/** What is done away from the loop that measures; each takes the path of a session. */
export interface ReaderTasks {
  overview(path: string, query: OverviewQuery): Overview
  readings(path: string, query: ReadingsQuery): ReadingColumns
  statistics(path: string, query: StretchQuery): StretchStatistics
  verify(path: string, options: Omit<VerifyOptions, 'signal'>): VerifyResult
  export(path: string, options: Omit<ExportOptions, 'signal'>): Promise<ExportResult>
  backup(path: string, folder: string): Promise<CopyResult>
  /** `path` is the new session's; `atUtcUs` what its file says of when it was made. */
  import(path: string, options: Omit<ImportOptions, 'clock' | 'out'>, atUtcUs: number): Promise<ImportResult>
}
export type TaskName = keyof ReaderTasks

/** Files kept open, so that zooming does not open one for each picture. */
const MOST_OPEN = 4
/** Readings fetched between two looks at whether they are still wanted. */
const PAGE = 20_000

export class TaskRunner implements Runner {
  /** A path may come to mean another file, as after bringUpToDate: its number on the disk tells. */
  readonly #open = new Map<string, { file: SessionFile; inode: number }>()

  async run(name: string, args: unknown[], cancel: Cancel): Promise<unknown> {
    cancel.throwIfAborted()
    const path = args[0] as string
    switch (name as TaskName) {
      case 'overview':
        return this.#file(path).overview(args[1] as OverviewQuery)
      case 'readings':
        return columnsOf(this.#readings(path, args[1] as ReadingsQuery, cancel))
      case 'statistics':
        return stretchStatistics(this.#file(path), args[1] as StretchQuery, () => cancel.throwIfAborted())
      case 'verify':
        return verifySession(path, { ...(args[1] as VerifyOptions), signal: cancel })
      case 'export':
        return exportSession(path, { ...(args[1] as ExportOptions), signal: cancel })
      case 'backup':
        return backupSession(path, args[1] as string, cancel)
      case 'import': {
        const clock = { now: () => ({ utcUs: args[2] as number, monoUs: 0 }) }
        return importCsv({ ...(args[1] as ImportOptions), out: path, clock })
      }
    }
  }

  close(): void {
    for (const { file } of this.#open.values()) file.close()
    this.#open.clear()
  }

  #file(path: string): SessionFile {
    const known = this.#open.get(path)
    const inode = statSync(path, { throwIfNoEntry: false })?.ino
    if (known && known.inode === inode) return known.file
    known?.file.close()
    this.#open.delete(path)
    const file = openSessionFile(path, { mode: 'read' })
    this.#open.set(path, { file, inode: inode! })
    if (this.#open.size > MOST_OPEN) {
      const [oldest, { file: unused }] = this.#open.entries().next().value!
      this.#open.delete(oldest)
      unused.close()
    }
    return file
  }

  #readings(path: string, query: ReadingsQuery, cancel: Cancel) {
    const file = this.#file(path)
    const found: ReturnType<SessionFile['readings']> = []
    let fromSeq = query.fromSeq ?? 0
    while (found.length < query.most) {
      cancel.throwIfAborted()
      const most = Math.min(PAGE, query.most - found.length)
      const page = file.readings({ ...query, fromSeq, most })
      for (const reading of page) found.push(reading)
      if (page.length < most) break
      fromSeq = page.at(-1)!.seq + 1
    }
    return found
  }
}

type Readings = ReturnType<SessionFile['readings']>
const numberIn = ({ value }: Readings[number]) => (value === null ? Number.NaN : Number(value))

const columnsOf = (readings: Readings): ReadingColumns => ({
  seq: Float64Array.from(readings, ({ seq }) => seq),
  utcUs: Float64Array.from(readings, ({ utcUs }) => utcUs),
  monoUs: Float64Array.from(readings, ({ monoUs }) => monoUs),
  value: Float64Array.from(readings, numberIn),
  marks: Uint32Array.from(readings, ({ marks }) => markBits(marks)),
  raw: readings.map(({ raw }) => raw),
  unit: readings[0]?.unit ?? null,
})
