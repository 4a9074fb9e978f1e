/**
 * A process without special rights that records into a folder whose rights go away half-way, and then opens what it
 * left there. Says as JSON what it saw. Arguments: file, channels, file of a
 * session that has ended.
 */
import { chmodSync, writeSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { StoreError } from '../../main/store/errors.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleInfo, exampleSetup, scan } from '../store/example-data.ts'

const [path = '', channels = '4', ended = ''] = process.argv.slice(2)
const file = openSessionFile(path, { mode: 'write', clock: exampleClock() })
const failed: string[] = []
let said = 0
for (let tick = 0; tick < 40; tick++) {
  if (tick === 20) chmodSync(dirname(path), 0o500)
  try {
    said = file.commit({ readings: scan(tick, Number(channels)) }).lastSeq
  } catch (fault) {
    failed.push(String(fault))
  }
}
file.close()

const reader = openSessionFile(path, { mode: 'read' })
const readings = reader.since(0, 1e6).length
reader.close()
const codeOf = (act: () => void): string => {
  try {
    act()
    return 'done'
  } catch (fault) {
    return fault instanceof StoreError ? fault.code : String(fault)
  }
}
const clock = exampleClock()
const again = {
  readings,
  whole: verifySession(path).whole,
  // What lies beside the file could not be cleared away, so it can still be written into.
  write: codeOf(() => openSessionFile(path, { mode: 'write', clock }).close()),
  create: codeOf(() =>
    createSessionFile(join(dirname(path), 'b.stillpoint'), { info: exampleInfo, setup: exampleSetup, clock }),
  ),
  ended: codeOf(() => openSessionFile(ended, { mode: 'read' }).close()),
  writeEnded: codeOf(() => openSessionFile(ended, { mode: 'write', clock }).commit({ readings: scan(9, 1) })),
}
writeSync(1, JSON.stringify({ said, failed, again }))
