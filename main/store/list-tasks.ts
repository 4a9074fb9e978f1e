import { join } from 'node:path'
import type { LedgerLine, RecordLine } from '../../app/contract/pages.ts'
import type { ArchiveRow } from '../../app/contract/studies.ts'
import type { ResistorAdvice } from '../../app/thermometry/resistor-advice.ts'
import { type ChartedQuery, listCharted } from './charted.ts'
import { Ledger, type LedgerQuery } from './ledger.ts'
import { listRecords, type RecordQuery } from './records/query.ts'
import { adviseOf, type ResistorWanted } from './resistor-choice.ts'
import { listSessions, type SessionQuery } from './session-list.ts'
import { type Db, openDatabase } from './sqlite.ts'
import type { Cancel } from './thread-talk.ts'

interface Page<R> {
  total: number
  rows: R[]
}

/** station.db of the folder asked last, for reading beside the station that writes it. */
let open: { folder: string; db: Db } | undefined

export function stationOf(folder: string): Db {
  if (open?.folder === folder) return open.db
  closeStation()
  open = { folder, db: openDatabase(join(folder, 'station.db'), 'station', 'read') }
  return open.db
}

export function closeStation(): void {
  open?.db.close()
  open = undefined
}

/** Lists of a station, looked up away from the loop that measures. */
export const listTasks = {
  records: (_: Cancel, folder: string, query: RecordQuery): Page<RecordLine> =>
    listRecords(stationOf(folder), query),
  sessions: (_: Cancel, folder: string, query: SessionQuery): Page<ArchiveRow> =>
    listSessions(stationOf(folder), query),
  ledger: (_: Cancel, folder: string, query: LedgerQuery): Page<LedgerLine> =>
    new Ledger(stationOf(folder)).lines(query),
  /** Which resistors serve a thermometer, the best first. */
  resistors: (_: Cancel, folder: string, thermometer: string, wanted: ResistorWanted): ResistorAdvice[] =>
    adviseOf(stationOf(folder), thermometer, wanted),
  charted: (_: Cancel, folder: string, query: ChartedQuery): ReturnType<typeof listCharted> =>
    listCharted(stationOf(folder), query),
}
