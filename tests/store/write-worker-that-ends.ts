import { type MessagePort, workerData } from 'node:worker_threads'
import type { WriteThreadData } from '../../main/store/write-talk.ts'

// The thread that writes, but for its end: at its second batch it is gone, before it has written or before it has answered.
const { port } = workerData as WriteThreadData
let calls = 0
const endAt = (call: number) => {
  calls += 1
  if (calls === call) throw new Error('The thread ends here.')
}
if (process.env.STILLPOINT_THREAD_ENDS === 'before') {
  const on = port.on.bind(port) as (name: string, listener: (message: unknown) => void) => MessagePort
  port.on = (name: string, listener: (message: never) => void) =>
    on(name, (message) => {
      endAt(2)
      listener(message as never)
    })
} else {
  const send = port.postMessage.bind(port)
  // 'ready', and two answers.
  port.postMessage = (answer: unknown) => {
    endAt(3)
    send(answer)
  }
}
await import('../../main/store/write-worker.ts')
