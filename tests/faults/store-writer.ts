/**
 * A process to be killed: writes scans into a session for ever and says on stdout what was stored, after it was.
 * Arguments: file, channels, scans (0: for ever), synchronous (FULL or NORMAL), pages between checkpoints.
 */
import { writeSync } from 'node:fs'
import { openSessionFile } from '../../main/store/session-file.ts'
import { exampleClock, exampleEvent, examplePoint, scan } from '../store/example-data.ts'

const [path = '', channels = '4', scans = '0', synchronous = 'FULL', checkpoint = '1000'] =
  process.argv.slice(2)
const file = openSessionFile(path, { mode: 'write', clock: exampleClock() })
file.database.pragma(`synchronous = ${synchronous}`)
file.database.pragma(`wal_autocheckpoint = ${checkpoint}`)
const first = file.readingCount / Number(channels)
for (let tick = first; scans === '0' || tick < first + Number(scans); tick++) {
  const { lastSeq } = file.commit({
    readings: scan(tick, Number(channels)),
    events: tick % 10 === 0 ? [exampleEvent(`scan ${tick}`)] : [],
    points: tick % 50 === 0 ? [examplePoint] : [],
    runner: { tick },
  })
  writeSync(1, `${lastSeq}\n`)
}
