import { statSync } from 'node:fs'
import { last } from '../../app/base/lists.ts'
import type { VerifyResult } from '../../app/contract/studies.ts'
import { markBits } from '../../app/records/mark.ts'
import { backUpOtherFiles } from './backup/other-files.ts'
import { type Restored, restoreStation } from './backup/restore.ts'
import { backupSession, type CopyResult, copyStation } from './export/copy.ts'
import { type ExportOptions, type ExportResult, exportSession } from './export/export.ts'
import { type ImportOptions, type ImportResult, importCsv } from './import/csv.ts'
import { closeStation, listTasks, stationOf } from './list-tasks.ts'
import { ordersText } from './orders-file.ts'
import { readOrders } from './orders-import.ts'
import type { Overview } from './overview.ts'
import { type ReadEntry, readRegister, registerText } from './register-file.ts'
import { type OverviewQuery, openSessionFile, type ReadingsQuery, type SessionFile } from './session-file.ts'
import { type StretchQuery, type StretchStatistics, stretchStatistics } from './stretch-statistics.ts'
import type { Cancel } from './thread-talk.ts'
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

/** Files kept open, so that zooming does not open one for each picture. */
const MOST_OPEN = 4
/** Readings fetched between two looks at whether they are still wanted. */
const PAGE = 20_000

/** Session files of a reading thread. */
class OpenFiles {
  /** A path may come to mean another file, as after bringUpToDate: its number on the disk tells. */
  readonly #open = new Map<string, { file: SessionFile; inode: number }>()

  at(path: string): SessionFile {
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

  close(): void {
    for (const { file } of this.#open.values()) file.close()
    this.#open.clear()
  }
}

const files = new OpenFiles()

/** What is done away from the loop that measures; each takes the path of a session. */
export const readerTasks = {
  ...listTasks,
  overview: (_: Cancel, path: string, query: OverviewQuery): Overview => files.at(path).overview(query),
  readings: (cancel: Cancel, path: string, query: ReadingsQuery): ReadingColumns =>
    columnsOf(readingsOf(files.at(path), query, cancel)),
  statistics: (cancel: Cancel, path: string, query: StretchQuery): StretchStatistics =>
    stretchStatistics(files.at(path), query, () => cancel.throwIfAborted()),
  verify: (signal: Cancel, path: string, options: Omit<VerifyOptions, 'signal'>): VerifyResult =>
    verifySession(path, { ...options, signal }),
  export: (signal: Cancel, path: string, options: Omit<ExportOptions, 'signal'>): Promise<ExportResult> =>
    exportSession(path, { ...options, signal }),
  backup: (cancel: Cancel, path: string, folder: string): Promise<CopyResult> =>
    backupSession(path, folder, cancel),
  /** `path` is the backup folder, `to` the new data folder; `atUtcUs` what its ledger says of when it was made. */
  restore: (_: Cancel, path: string, to: string, atUtcUs: number): Restored =>
    restoreStation(path, to, { clock: { now: () => ({ utcUs: atUtcUs, monoUs: 0 }) } }),
  /** `path` is that of station.db, `target` that of its copy. */
  backupStation: (cancel: Cancel, path: string, target: string): ReturnType<typeof copyStation> =>
    copyStation(path, target, cancel),
  /** `path` is the data folder. */
  backupOthers: (cancel: Cancel, path: string, folder: string): number =>
    backUpOtherFiles(path, folder, cancel),
  /** `folder` is the station's data folder. */
  registerFile: (_: Cancel, folder: string, format: 'json' | 'csv', today: string): string =>
    registerText(stationOf(folder), format, today),
  ordersFile: (_: Cancel, folder: string): string => ordersText(stationOf(folder)),
  readOrders: (_: Cancel, folder: string, text: string, utcUs: number): ReadEntry[] =>
    readOrders(stationOf(folder), text, utcUs),
  readRegister: (_: Cancel, bytes: Uint8Array): ReadEntry[] => readRegister(new TextDecoder().decode(bytes)),
  /** `path` is the new session's; `atUtcUs` what its file says of when it was made. */
  import: (
    _: Cancel,
    path: string,
    options: Omit<ImportOptions, 'clock' | 'out'>,
    atUtcUs: number,
  ): Promise<ImportResult> =>
    importCsv({ ...options, out: path, clock: { now: () => ({ utcUs: atUtcUs, monoUs: 0 }) } }),
}

export type ReaderTasks = typeof readerTasks

/** Lets go of the files kept open. */
export function closeFiles(): void {
  files.close()
  closeStation()
}

function readingsOf(file: SessionFile, query: ReadingsQuery, cancel: Cancel) {
  const found: ReturnType<SessionFile['readings']> = []
  let fromSeq = query.fromSeq ?? 0
  while (found.length < query.most) {
    cancel.throwIfAborted()
    const most = Math.min(PAGE, query.most - found.length)
    const page = file.readings({ ...query, fromSeq, most })
    for (const reading of page) found.push(reading)
    if (page.length < most) break
    fromSeq = last(page).seq + 1
  }
  return found
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
