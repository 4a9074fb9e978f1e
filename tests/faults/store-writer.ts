/**
 * A process to be killed: writes scans into a session for ever and says on stdout what was stored, after it was.
 * A commit that fails is said as ! and its code, and the same batch is tried again; after many failures in a row it ends.
 * Arguments: file, channels, scans (0: for ever), synchronous (FULL or NORMAL), pages between checkpoints.
 */
import { writeSync } from 'node:fs'
import { StoreError } from '../../main/store/errors.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { exampleClock, exampleEvent, examplePoint, scan } from '../store/example-data.ts'

const MOST_FAILURES = 20

const [path = '', channels = '4', scans = '0', synchronous = 'FULL', checkpoint = '1000'] =
  process.argv.slice(2)
const file = openSessionFile(path, { mode: 'write', clock: exampleClock() })
file.database.pragma(`synchronous = ${synchronous}`)
file.database.pragma(`wal_autocheckpoint = ${checkpoint}`)
const first = file.readingCount / Number(channels)
for (let tick = first; scans === '0' || tick < first + Number(scans); tick++) {
  const lastSeq = commit(tick)
  writeSync(1, `${lastSeq}\n`)
}

function commit(tick: number): number {
  for (let failures = 1; ; failures++)
    try {
      return file.commit({
        readings: scan(tick, Number(channels)),
        events: tick % 10 === 0 ? [exampleEvent(`scan ${tick}`)] : [],
        points: tick % 50 === 0 ? [examplePoint] : [],
        runner: { tick },
      }).lastSeq
    } catch (fault) {
      if (!(fault instanceof StoreError)) throw fault
      writeSync(1, `!${fault.code}\n`)
      if (failures === MOST_FAILURES) process.exit(0)
    }
}
