import { parentPort } from 'node:worker_threads'
import { StoreError } from './errors.ts'
import type { Answer, Request } from './reader.ts'
import { TaskRunner } from './reader-tasks.ts'

/** The thread in which old data is read. One request at a time, in the order they came. */
const port = parentPort
if (!port) throw new Error('reader-worker.ts runs as a worker of the store')
const runner = new TaskRunner()
let last: Promise<void> = Promise.resolve()

port.on('message', (message: Request | 'close') => {
  last = last.then(async () => {
    if (message === 'close') {
      runner.close()
      port.close()
    } else await answer(message)
  })
})

async function answer({ id, name, args, wanted }: Request): Promise<void> {
  const flag = new Int32Array(wanted)
  const cancel = {
    throwIfAborted() {
      if (Atomics.load(flag, 0) !== 0) throw new StoreError('refused', 'No longer wanted.')
    },
  }
  try {
    port!.postMessage({ id, result: await runner.run(name, args, cancel) } satisfies Answer)
  } catch (fault) {
    const failure =
      fault instanceof StoreError
        ? { code: fault.code, words: fault.message, facts: structuredFacts(fault.facts) }
        : {
            code: null,
            words: fault instanceof Error ? (fault.stack ?? fault.message) : String(fault),
            facts: {},
          }
    port!.postMessage({ id, failure } satisfies Answer)
  }
}

/** Facts as they can cross to the other thread. */
function structuredFacts(facts: Readonly<Record<string, unknown>>): Record<string, unknown> {
  return JSON.parse(JSON.stringify(facts)) as Record<string, unknown>
}
