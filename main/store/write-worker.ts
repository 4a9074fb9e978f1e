import { workerData } from 'node:worker_threads'
import { RowWriter } from './batch-rows.ts'
import { failureOf } from './failure.ts'
import { openDatabase } from './sqlite.ts'
import type { WriteAnswer, WriteThreadData, WrittenBatch } from './write-talk.ts'

// The thread that waits for the disk: batches of one session, each in a transaction of its own, on a connection of its own.
const { path, port, answered } = workerData as WriteThreadData
const flag = new Int32Array(answered)
const db = openDatabase(path, 'session', 'write')
const writer = new RowWriter(db)

function stored({ rows, lastSeq }: WrittenBatch): WriteAnswer {
  try {
    writer.begin()
    for (const [kind, row] of rows) writer.add(kind, row)
    writer.commit(lastSeq)
    return 'stored'
  } catch (fault) {
    return failureOf(writer.rollback(fault))
  }
}

port.on('message', (message: WrittenBatch | 'close') => {
  if (message === 'close') {
    db.close()
    port.close()
    return
  }
  port.postMessage(stored(message))
  Atomics.store(flag, 0, 1)
  Atomics.notify(flag, 0)
})
port.postMessage('ready' satisfies WriteAnswer)
