import { MessageChannel, type MessagePort, receiveMessageOnPort, Worker } from 'node:worker_threads'
import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'
import { workerScript } from './worker-pool.ts'
import { ENDED, type WriteAnswer, type WriteThreadData, type WrittenBatch } from './write-talk.ts'

/** It holds a connection and one batch; left to itself V8 would take more, MB. */
const HEAP_MB = { maxYoungGenerationSizeMb: 2, maxOldGenerationSizeMb: 64 }
/** Longest that somebody who cannot go on without the answer waits for the disk, ms. */
const MOST_WAIT_MS = 120_000

export type Answered = Exclude<WriteAnswer, 'ready'>

/**
 * A thread that stores batches of one session file, one at a time, so that the loop which hands them over never waits for
 * the disk. Whoever must know at once can wait for the answer all the same.
 */
export class WriteThread {
  readonly #worker: Worker
  readonly #port: MessagePort
  readonly #answered = new Int32Array(new SharedArrayBuffer(4))
  #handed = 0
  readonly #gone: Promise<void>
  /** Resolves when it has opened the file, or has ended without. */
  readonly begun: Promise<void>
  #ready = false
  #ended = false

  /** `told` hears the answer to each batch; `lost` that the thread has ended by itself. */
  constructor(path: string, told: (answer: Answered) => void, lost: () => void) {
    const { port1, port2 } = new MessageChannel()
    this.#port = port1
    const data: WriteThreadData = { path, port: port2, answered: this.#answered.buffer as SharedArrayBuffer }
    this.#worker = new Worker(workerScript('write-worker', import.meta.url), {
      workerData: data,
      transferList: [port2],
      resourceLimits: HEAP_MB,
    })
    const { promise, resolve } = Promise.withResolvers<void>()
    port1.on('message', (answer: WriteAnswer) => {
      if (answer !== 'ready') return told(answer)
      this.#ready = true
      resolve()
    })
    this.#gone = new Promise((resolve) => {
      const gone = () => {
        resolve()
        if (this.#ended) return
        this.#ended = true
        lost()
      }
      this.#worker.on('error', gone)
      this.#worker.on('exit', gone)
    })
    this.begun = Promise.race([promise, this.#gone])
    port1.unref()
    this.#worker.unref()
  }

  /** It has opened the file and can be given a batch. */
  get ready(): boolean {
    return this.#ready && !this.#ended
  }

  /** Hands a batch over; the one before must have been answered. */
  hand(batch: WrittenBatch): void {
    this.#handed += 1
    this.#port.postMessage(batch)
  }

  /**
   * Waits for the answer to the batch that was handed over; 'ended' where the thread ends before it has given one. Throws StoreError
   * 'input-output' where the disk gives none.
   */
  wait(): Answered | 'ended' {
    const untilMs = performance.now() + MOST_WAIT_MS
    for (let answered = Atomics.load(this.#answered, 0); answered < this.#handed; ) {
      const leftMs = untilMs - performance.now()
      if (leftMs <= 0) break
      Atomics.wait(this.#answered, 0, answered, leftMs)
      answered = Atomics.load(this.#answered, 0)
    }
    const got = receiveMessageOnPort(this.#port) as { message: Answered } | undefined
    if (got) return got.message
    if (Atomics.load(this.#answered, 0) === ENDED) return 'ended'
    throw new StoreError('input-output', said('disk-silent', { seconds: String(MOST_WAIT_MS / 1000) }))
  }

  /** Lets go of the file and ends; the last batch must have been answered. */
  async close(): Promise<void> {
    if (!this.#ended) {
      this.#ended = true
      this.#port.postMessage('close')
    }
    await this.#gone
    this.#port.close()
  }
}
