import { Worker } from 'node:worker_threads'
import { StoreError, type StoreErrorCode } from './errors.ts'
import type { ReaderTasks, TaskName } from './reader-tasks.ts'

export interface Request {
  id: number
  name: TaskName
  args: unknown[]
  /** Anything but 0 in it: the answer is no longer wanted. */
  wanted: SharedArrayBuffer
}

export type Answer =
  | { id: number; result: unknown }
  | { id: number; failure: { code: StoreErrorCode | null; words: string; facts: Record<string, unknown> } }

type Args<N extends TaskName> = Parameters<ReaderTasks[N]>
type Result<N extends TaskName> = Awaited<ReturnType<ReaderTasks[N]>>

interface Waiting {
  resolve(result: unknown): void
  reject(fault: unknown): void
}

/**
 * Reads old sessions in threads of their own, never in the loop that measures: pictures in one, exports, backups and
 * verification in another, so that a long one does not hold up a picture. What is no longer wanted is given up: at
 * once where it still waits, at its next page where it runs.
 */
export class SessionReader {
  readonly #pictures = new Thread()
  readonly #long = new Thread()

  overview(...args: [...Args<'overview'>, signal?: AbortSignal]): Promise<Result<'overview'>> {
    return this.#pictures.ask('overview', args.slice(0, 2), args[2])
  }

  readings(...args: [...Args<'readings'>, signal?: AbortSignal]): Promise<Result<'readings'>> {
    return this.#pictures.ask('readings', args.slice(0, 2), args[2])
  }

  statistics(...args: [...Args<'statistics'>, signal?: AbortSignal]): Promise<Result<'statistics'>> {
    return this.#pictures.ask('statistics', args.slice(0, 2), args[2])
  }

  verify(...args: [...Args<'verify'>, signal?: AbortSignal]): Promise<Result<'verify'>> {
    return this.#long.ask('verify', args.slice(0, 2), args[2])
  }

  export(...args: [...Args<'export'>, signal?: AbortSignal]): Promise<Result<'export'>> {
    return this.#long.ask('export', args.slice(0, 2), args[2])
  }

  backup(...args: [...Args<'backup'>, signal?: AbortSignal]): Promise<Result<'backup'>> {
    return this.#long.ask('backup', args.slice(0, 2), args[2])
  }

  async close(): Promise<void> {
    await Promise.all([this.#pictures.close(), this.#long.close()])
  }
}

/** One worker, started when first asked and again after a crash. */
class Thread {
  #worker: Worker | undefined
  #waiting = new Map<number, Waiting>()
  #next = 0

  ask<N extends TaskName>(name: N, args: unknown[], signal?: AbortSignal): Promise<Result<N>> {
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
    }) as Promise<Result<N>>
  }

  async close(): Promise<void> {
    const worker = this.#worker
    if (!worker) return
    const ended = new Promise((resolve) => worker.once('exit', resolve))
    worker.postMessage('close')
    await ended
  }

  #start(): Worker {
    if (this.#worker) return this.#worker
    const worker = new Worker(new URL('./reader-worker.ts', import.meta.url))
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
