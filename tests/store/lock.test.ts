import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Worker } from 'node:worker_threads'
import { expect, it } from 'vitest'
import { holdFolder, isHeld } from '../../main/store/lock.ts'

it('waits out somebody who only asks whether the folder is held', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-lock-'))
  holdFolder(folder).release()
  // One who asks, on a machine that stops it in the middle of asking.
  const asking = new Worker(
    `const Database = require('better-sqlite3')
     const { parentPort, workerData } = require('node:worker_threads')
     const db = new Database(workerData)
     db.exec('BEGIN EXCLUSIVE')
     parentPort.postMessage('holds')
     Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 600)
     db.close()`,
    { eval: true, workerData: join(folder, 'station.hold') },
  )
  await new Promise((resolve) => asking.once('message', resolve))
  const hold = holdFolder(folder)
  expect(isHeld(folder)).toBe(true)
  hold.release()
  expect(isHeld(folder)).toBe(false)
  await asking.terminate()
  rmSync(folder, { recursive: true })
})
