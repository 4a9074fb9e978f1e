import { join } from 'node:path'
import { BatchBytes, genesis } from '../../main/store/chain.ts'
import { migrate } from '../../main/store/migrate.ts'
import { sessionMigrations } from '../../main/store/migrations/session/index.ts'
import { rebuildChunks } from '../../main/store/pyramid.ts'
import { Numbering } from '../../main/store/rows.ts'
import { createDatabase } from '../../main/store/sqlite.ts'
import { exampleInfo, exampleSetup, scan } from './example-data.ts'

/** Scans in an old session; 5 readings each. */
export const OLD_SCANS = 900

/** A session as a program wrote it that knew only the first `version` steps of the form. */
export function writeOldSession(folder: string, version: number): string {
  const path = join(folder, `form-${version}.stillpoint`)
  const db = createDatabase(path, 'session')
  migrate(db, sessionMigrations, version)
  const info = JSON.stringify(exampleInfo)
  const setup = JSON.stringify(exampleSetup)
  db.prepare('INSERT INTO session VALUES (1, ?, ?)').run(info, setup)
  const bytes = new BatchBytes()
  let head = genesis(info, setup)
  const log = db.prepare(
    'INSERT INTO log (source, utc_us, mono_us, raw, value, marks) VALUES (?, ?, ?, ?, ?, 0)',
  )
  const batch = db.prepare('INSERT INTO batch VALUES (?, ?, 0, 0, 5, 1, ?)')
  db.exec('BEGIN')
  let seq = 0
  for (let tick = 0; tick < OLD_SCANS; tick++) {
    bytes.start(head, tick + 1)
    const readings = scan(tick, 5)
    if (tick === 0) {
      db.prepare('INSERT INTO mark VALUES (0, ?)').run('late')
      bytes.row('mark', [0, 'late'])
      for (const [i, { channel, unit, currentMa }] of readings.entries()) {
        db.prepare('INSERT INTO source VALUES (?, ?, ?, ?)').run(i + 1, channel, unit, currentMa)
        bytes.row('source', [i + 1, channel, unit, currentMa])
      }
    }
    for (const [i, { utcUs, monoUs, raw }] of readings.entries()) {
      log.run(i + 1, utcUs, monoUs, raw, '=')
      bytes.reading(++seq, utcUs, monoUs, i + 1, 0, raw, '=')
    }
    head = bytes.digest()
    batch.run(tick + 1, seq, head)
  }
  // Chunks of the second form: their extremes, bodies and ends mean nothing to a later one.
  if (version === 2)
    db.exec(`INSERT INTO chunk VALUES (${2 ** 31 + 1}, 900, 1, 4496, 0, 1, 900, -1.0, 99.0, 1.0);
      INSERT INTO chunk_cells VALUES (${2 ** 31 + 1}, zeroblob(44));
      INSERT INTO chunk_body VALUES (${2 ** 31 + 1}, zeroblob(100));
      INSERT INTO sealed VALUES (1, 1, 4500)`)
  if (version >= 3) rebuildChunks(db, Numbering.read(db))
  db.exec('COMMIT')
  db.close()
  return path
}
