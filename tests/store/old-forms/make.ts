/**
 * Writes a small data folder of today's forms, to be kept here before a form changes:
 *   node tests/store/old-forms/make.ts
 */
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'
import { gzipSync } from 'node:zlib'
import { sessionMigrations } from '../../../main/store/migrations/session/index.ts'
import { stationMigrations } from '../../../main/store/migrations/station/index.ts'
import { openBox } from '../../station/box.ts'

const folder = mkdtempSync(join(tmpdir(), 'stillpoint-form-'))
const box = await openBox({ scenario: 'quiet', folder, seed: 5 })
const id = await box.station.record({ operator: 'A. Person', name: 'An evening' })
await box.clock.sleep(120_000)
box.station.note('A. Person', 'The lid was opened.')
await box.clock.sleep(60_000)
box.station.stop('A. Person', 'enough')
await box.station.finished
const files = [join(folder, 'station.db'), box.store.sessionPath(id)]
await box.close()
const kept = join(
  import.meta.dirname,
  `station${stationMigrations.at(-1)!.id}-session${sessionMigrations.at(-1)!.id}`,
)
mkdirSync(kept, { recursive: true })
for (const file of files)
  writeFileSync(join(kept, `${basename(file)}.gz`), gzipSync(readFileSync(file), { level: 9 }))
rmSync(folder, { recursive: true })
console.log(kept)
process.exit(0)
