import { Worker } from 'node:worker_threads'
import { StoreError } from './errors.ts'
import type { Answer, Cancel, Request, Tasks } from './thread-talk.ts'

/** A thread's tasks as the other side sees them: the same arguments, and the result to wait for. */
export type Asked<T extends Tasks> = {
  readonly [N in keyof T]: T[N] extends (cancel: Cancel, ...args: infer A) => infer R
    ? (...args: A) => Promise<Awaited<R>>
    : never
}

/** Reports of many pages are worked out in seconds; a station that is being ended does not wait for a queue of them, ms. */
const PATIENCE_MS = 3_000

interface Waiting {
  wanted: SharedArrayBuffer
  resolve(result: unknown): void
  reject(fault: unknown): void
}

/** A worker's script beside the file that starts it: source in a checkout, bundled beside its caller in a package. */
export function workerScript(name: string, from: string): URL {
  return new URL(`./${name}.${from.endsWith('.ts') ? 'ts' : 'mjs'}`, from)
}

/** One worker, started when first asked and again after a crash. */
export class WorkerThread<T extends Tasks> {
  readonly #script: URL
  #worker: Worker | undefined
  #waiting = new Map<number, Waiting>()
  #next = 0

  constructor(script: URL) {
    this.#script = script
  }

  /** The thread's tasks, each to be asked by its name; what is asked is given up when the signal says so. */
  ask(signal?: AbortSignal): Asked<T> {
    return new Proxy({} as Asked<T>, {
      get:
        (_, name) =>
        (...args: unknown[]) =>
          this.#ask(String(name), args, signal),
    })
  }

  #ask(name: string, args: unknown[], signal?: AbortSignal): Promise<unknown> {
    if (signal?.aborted) return Promise.reject(signal.reason)
    const wanted = new SharedArrayBuffer(4)
    const id = ++this.#next
    return new Promise<unknown>((resolve, reject) => {
      const stop = () => {
        Atomics.store(new Int32Array(wanted), 0, 1)
        this.#settle(id)?.reject(signal!.reason)
      }
      signal?.addEventListener('abort', stop, { once: true })
      const end = () => signal?.removeEventListener('abort', stop)
      this.#waiting.set(id, {
        wanted,
        resolve: (result) => {
          end()
          resolve(result)
        },
        reject: (fault) => {
          end()
          reject(fault)
        },
      })
      this.#start().postMessage({ id, name, args, wanted } satisfies Request)
    })
  }

  /** What still waits is let fall, and what is under way is broken off where it does not come to its end soon. */
  async close(): Promise<void> {
    const worker = this.#worker
    if (!worker) return
    const ended = new Promise((resolve) => worker.once('exit', resolve))
    for (const { wanted } of this.#waiting.values()) Atomics.store(new Int32Array(wanted), 0, 1)
    worker.postMessage('close')
    const patience = setTimeout(() => void worker.terminate(), PATIENCE_MS)
    await ended
    clearTimeout(patience)
  }

  #start(): Worker {
    if (this.#worker) return this.#worker
    const worker = new Worker(this.#script)
    worker.unref()
    worker.on('message', (answer: Answer) => {
      const waiting = this.#settle(answer.id)
      if (!waiting) return
      if ('result' in answer) waiting.resolve(answer.result)
      else {
        const { code, words, facts } = answer.failure
        waiting.reject(code === null ? new Error(words) : new StoreError(code, words, facts))
      }
    })
    const fail = (fault: unknown) => {
      if (this.#worker === worker) this.#worker = undefined
      const left = [...this.#waiting.values()]
      this.#waiting.clear()
      for (const { reject } of left) reject(fault)
    }
    worker.on('error', fail)
    worker.on('exit', (code) => fail(new StoreError('input-output', `The reading thread ended (${code}).`)))
    this.#worker = worker
    return worker
  }

  #settle(id: number): Waiting | undefined {
    const waiting = this.#waiting.get(id)
    this.#waiting.delete(id)
    return waiting
  }
}
