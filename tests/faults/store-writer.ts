/**
 * A process to be killed: writes scans into a session for ever and says on stdout what was stored, after it was.
 * A commit that fails is said as ! and its code, and the same batch is tried again; after many failures in a row it ends.
 * Arguments: file, channels, scans (0: for ever), synchronous (FULL or NORMAL), pages between checkpoints, and whether batches
 * are handed to a thread (here or thread).
 */
import { writeSync } from 'node:fs'
import { StoreError } from '../../main/store/errors.ts'
import { type Outcome, openSessionFile } from '../../main/store/session-file.ts'
import { exampleClock, exampleEvent, examplePoint, scan } from '../store/example-data.ts'

const MOST_FAILURES = 20

const [path = '', channels = '4', scans = '0', synchronous = 'FULL', checkpoint = '1000', where = 'here'] =
  process.argv.slice(2)
const file = openSessionFile(path, { mode: 'write', clock: exampleClock() })
file.database.pragma(`synchronous = ${synchronous}`)
file.database.pragma(`wal_autocheckpoint = ${checkpoint}`)
// A thread that nobody else waits for does not keep a process going.
const awake = setInterval(() => undefined, 1000)
if (where === 'thread') await file.beginThread()
const first = file.readingCount / Number(channels)
for (let tick = first; scans === '0' || tick < first + Number(scans); tick++) {
  const lastSeq = await stored(tick)
  say(`${lastSeq}`)
}
await file.endThread()
clearInterval(awake)

async function stored(tick: number): Promise<number> {
  for (let failures = 1; ; failures++) {
    const batch = {
      readings: scan(tick, Number(channels)),
      events: tick % 10 === 0 ? [exampleEvent(`scan ${tick}`)] : [],
      points: tick % 50 === 0 ? [examplePoint] : [],
      runner: { tick },
    }
    const outcome = await new Promise<Outcome>((resolve) => file.hand(batch, resolve))
    if ('committed' in outcome) return outcome.committed.lastSeq
    const { fault } = outcome
    if (!(fault instanceof StoreError)) throw fault
    say(`!${fault.code}`)
    if (failures === MOST_FAILURES) process.exit(0)
  }
}

/** A process that has threads does not wait when it writes to a pipe. */
function say(words: string): void {
  for (;;)
    try {
      writeSync(1, `${words}\n`)
      return
    } catch (fault) {
      if (!(fault instanceof Error && 'code' in fault && fault.code === 'EAGAIN')) throw fault
    }
}
