import { copyFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { bringUpToDate } from '../../main/store/bring-up-to-date.ts'
import { copySession } from '../../main/store/export/copy.ts'
import { PRAGMAS } from '../../main/store/pragmas.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import type { Db } from '../../main/store/sqlite.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'
import { writeOldSession } from './old-session.ts'

const clock = exampleClock()

function expectPragmas(db: Db, journal: 'wal' | 'delete' = 'wal') {
  for (const [name, value] of Object.entries(PRAGMAS))
    expect(db.pragma(name, { simple: true }), name).toBe(value)
  expect(db.pragma('journal_mode', { simple: true })).toBe(journal)
}

describe('setPragmas', () => {
  it('has set and read back every pragma on every way a file is opened', async () => {
    const folder = temporaryFolder()
    const path = join(folder, 'a.stillpoint')
    const created = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock })
    expectPragmas(created.database)
    created.commit({ readings: scan(0, 2) })
    const reading = openSessionFile(path, { mode: 'read' })
    expectPragmas(reading.database)
    reading.close()
    created.close()

    const again = openSessionFile(path, { mode: 'write', clock })
    expectPragmas(again.database)
    again.finish('complete', 'done')
    again.close()

    const finished = openSessionFile(path, { mode: 'read' })
    expectPragmas(finished.database, 'delete')
    finished.close()
    const annotated = openSessionFile(path, { mode: 'write', clock })
    expectPragmas(annotated.database)
    annotated.close()

    const copied = join(folder, 'copy.stillpoint')
    await copySession(path, copied)
    const copy = openSessionFile(copied, { mode: 'write', clock })
    expectPragmas(copy.database)
    copy.close()

    const old = join(folder, 'old.stillpoint')
    copyFileSync(writeOldSession(folder, 1), old)
    bringUpToDate(old)
    const migrated = openSessionFile(old, { mode: 'write', clock })
    expectPragmas(migrated.database)
    migrated.close()

    const station = openStationStore(join(folder, 'station'), { clock })
    expectPragmas(station.database)
    station.close()
    const stationAgain = openStationStore(join(folder, 'station'), { clock })
    expectPragmas(stationAgain.database)
    const stationRead = openStationStore(join(folder, 'station'), { clock, mode: 'read' })
    expectPragmas(stationRead.database)
    stationRead.close()
    stationAgain.close()
  })
})
