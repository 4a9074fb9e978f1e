import { setPriority } from 'node:os'
import { getHeapStatistics } from 'node:v8'
import { parentPort } from 'node:worker_threads'
import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'
import { failureOf } from './failure.ts'
import type { Answer, Request, Tasks } from './thread-talk.ts'

/** The inner side of a thread: one request at a time, in the order they came. `close` lets go of what is kept open. */
export function serveThread(tasks: Tasks, close: () => void): void {
  const port = parentPort
  if (!port) throw new Error('This file runs as a worker; the station starts it.')
  stepBack()
  let last: Promise<void> = Promise.resolve()
  port.on('message', (message: Request | 'close') => {
    last = last.then(async () => {
      if (message === 'close') {
        close()
        port.close()
      } else port.postMessage(await answer(tasks, message))
    })
  })
}

/** How much a thread of studies steps back behind the loop that measures, where both want the same core. */
const NICE = 10

/**
 * On Linux the nice value is the calling thread's own (setpriority(2), "C library/kernel differences"); elsewhere it would be
 * the whole process's, with the loop that measures.
 */
function stepBack(): void {
  if (process.platform !== 'linux') return
  try {
    setPriority(0, NICE)
  } catch {
    // A system that forbids it runs the thread like the others.
  }
}

async function answer(tasks: Tasks, { id, name, args, wanted }: Request): Promise<Answer> {
  const flag = new Int32Array(wanted)
  const cancel = {
    throwIfAborted() {
      if (Atomics.load(flag, 0) !== 0) throw new StoreError('refused', said('no-longer-wanted', {}))
    },
  }
  try {
    // Whoever asked may have gone while this waited for its turn.
    cancel.throwIfAborted()
    const task = Object.hasOwn(tasks, name) ? tasks[name] : undefined
    if (!task) throw new RangeError(`no such task: ${name}`)
    return { id, result: await task(cancel, ...(args as never[])), heldBytes: heldBytes() }
  } catch (fault) {
    return { id, failure: failureOf(fault), heldBytes: heldBytes() }
  }
}

/** What this thread alone holds: its own heap, and the bytes outside of it that belong to its objects. */
function heldBytes(): number {
  const { used_heap_size, external_memory } = getHeapStatistics()
  return used_heap_size + external_memory
}
