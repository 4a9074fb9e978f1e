import { workerData } from 'node:worker_threads'
import Database from 'better-sqlite3'
import { RowWriter } from './batch-rows.ts'
import { applyPragmas } from './pragmas.ts'
import { ENDED, type WriteAnswer, type WriteThreadData, type WrittenBatch } from './write-talk.ts'

// The thread that waits for the disk: batches of one session, each in a transaction of its own, on a connection of its own.
const { path, port, answered } = workerData as WriteThreadData
const answeredSoFar = new Int32Array(answered)
const db = new Database(path, { fileMustExist: true, timeout: 5000 })
const wrong = applyPragmas(db, 'write')
if (wrong) throw new Error(`${path}: ${wrong.name} is ${String(wrong.found)}`)
const writer = new RowWriter(db)

function stored({ rows, lastSeq }: WrittenBatch): WriteAnswer {
  try {
    writer.begin()
    for (const [kind, row] of rows) writer.add(kind, row)
    if (writer.commit(lastSeq)) return 'stored'
    writer.rollback()
    return 'displaced'
  } catch (fault) {
    writer.rollback()
    const { code = '', message } = fault as Error & { code?: string }
    return { code, message }
  }
}

function count(answers: number): void {
  Atomics.store(answeredSoFar, 0, answers)
  Atomics.notify(answeredSoFar, 0)
}

let batches = 0
port.on('message', (message: WrittenBatch | 'close') => {
  if (message === 'close') {
    db.close()
    port.close()
    return
  }
  port.postMessage(stored(message))
  count(++batches)
})
// Whoever waits for an answer then does not wait for one that never comes.
process.on('exit', () => count(ENDED))
port.postMessage('ready' satisfies WriteAnswer)
