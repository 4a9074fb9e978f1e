import { Worker } from 'node:worker_threads'
import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'
import { faultOf } from './failure.ts'
import type { Answer, Cancel, Request, Tasks } from './thread-talk.ts'

/** A thread's tasks as the other side sees them: the same arguments, and the result to wait for. */
export type Asked<T extends Tasks> = {
  readonly [N in keyof T]: T[N] extends (cancel: Cancel, ...args: infer A) => infer R
    ? (...args: A) => Promise<Awaited<R>>
    : never
}

/** What is asked first when a place is free: somebody waits for it now, later, or nobody does. */
export const PRIORITIES = ['soon', 'long', 'idle'] as const
export type Priority = (typeof PRIORITIES)[number]

export interface PoolOptions<T extends Tasks> {
  readonly script: URL
  /** Most threads at the same time. Where there is more than one, what is not asked soon never takes the last. */
  readonly most?: number
  /** Tasks that are not asked soon. */
  readonly priorities?: { readonly [N in keyof T]?: Priority }
  /** A thread that holds more than this after a task is ended, and another begun when one is needed, bytes. */
  readonly heldBytes?: number
  /** A thread that nobody has asked for so long gives its memory back, ms. */
  readonly idleMs?: number
  /** A task that goes on for so long after it was given up is ended with its thread, ms. */
  readonly graceMs?: number
}

interface Job {
  readonly id: number
  readonly name: string
  readonly args: unknown[]
  readonly priority: Priority
  readonly wanted: SharedArrayBuffer
  resolve(result: unknown): void
  reject(fault: unknown): void
  /** It was settled: given up, or answered. */
  done: boolean
}

interface Thread {
  readonly worker: Worker
  job: Job | undefined
  idle: NodeJS.Timeout | undefined
}

const HELD_BYTES = 192 * 1024 * 1024
const IDLE_MS = 30_000
const GRACE_MS = 500
/** How long the threads have to end by themselves when the station closes, ms. */
const CLOSING_MS = 1_000
/** No task needs more; one that does ends with words and not with the station, MB. */
const MOST_HEAP_MB = 2_048
/**
 * What is made and thrown away is collected after this much of it, MB. Left to itself V8 takes several times that for itself in each
 * thread: an export of a million readings held 440 MB then and holds 260 MB so.
 */
const YOUNG_HEAP_MB = 12

/** A worker's script beside the file that starts it: source in a checkout, bundled beside its caller in a package. */
export function workerScript(name: string, from: string): URL {
  return new URL(`./${name}.${from.endsWith('.ts') ? 'ts' : 'mjs'}`, from)
}

/**
 * Threads for what must never hold up the loop that measures: one task each at a time, the most urgent first. They are
 * begun when they are needed and end when they hold too much, when nobody asks, or when what they do is no longer wanted.
 */
export class WorkerPool<T extends Tasks> {
  readonly #options: PoolOptions<T>
  readonly #most: number
  readonly #threads = new Set<Thread>()
  #waiting: Job[] = []
  #next = 0
  #closed = false

  constructor(options: PoolOptions<T>) {
    this.#options = options
    this.#most = options.most ?? 1
  }

  /** Threads that are there now. */
  get threads(): number {
    return this.#threads.size
  }

  /** The tasks, each to be asked by its name; what is asked is given up when the signal says so. */
  ask(signal?: AbortSignal): Asked<T> {
    return new Proxy({} as Asked<T>, {
      get:
        (_, name) =>
        (...args: unknown[]) =>
          this.#ask(String(name), args, signal),
    })
  }

  /** Ends all threads within about a second, whatever they do. */
  async close(): Promise<void> {
    this.#closed = true
    const fault = new StoreError('refused', said('station-closing', {}))
    for (const job of this.#waiting) settle(job, () => job.reject(fault))
    this.#waiting = []
    await Promise.all([...this.#threads].map((thread) => this.#end(thread, fault)))
  }

  #ask(name: string, args: unknown[], signal?: AbortSignal): Promise<unknown> {
    if (signal?.aborted) return Promise.reject(signal.reason)
    if (this.#closed) return Promise.reject(new StoreError('refused', said('station-closing', {})))
    return new Promise<unknown>((resolve, reject) => {
      const priority = this.#options.priorities?.[name] ?? 'soon'
      const wanted = new SharedArrayBuffer(4)
      const end = () => signal?.removeEventListener('abort', giveUp)
      const job: Job = {
        ...{ id: ++this.#next, name, args, priority, wanted, done: false },
        resolve: (result) => {
          end()
          resolve(result)
        },
        reject: (fault) => {
          end()
          reject(fault)
        },
      }
      const giveUp = () => this.#giveUp(job, signal!.reason)
      signal?.addEventListener('abort', giveUp, { once: true })
      this.#waiting.push(job)
      this.#dispatch()
    })
  }

  #giveUp(job: Job, reason: unknown): void {
    Atomics.store(new Int32Array(job.wanted), 0, 1)
    this.#waiting = this.#waiting.filter((one) => one !== job)
    settle(job, () => job.reject(reason))
    const thread = [...this.#threads].find((one) => one.job === job)
    if (!thread) return
    setTimeout(() => {
      if (thread.job === job) this.#drop(thread)
    }, this.#options.graceMs ?? GRACE_MS).unref()
  }

  #dispatch(): void {
    for (let job = this.#nextJob(); job; job = this.#nextJob()) {
      const thread = [...this.#threads].find((one) => one.job === undefined) ?? this.#begin()
      this.#waiting = this.#waiting.filter((one) => one !== job)
      clearTimeout(thread.idle)
      thread.job = job
      const { id, name, args, wanted } = job
      try {
        thread.worker.postMessage({ id, name, args, wanted } satisfies Request)
      } catch (fault) {
        // What cannot be sent is the asker's mistake, and the thread is as free as before.
        thread.job = undefined
        settle(job, () => job.reject(fault))
      }
    }
  }

  /** The most urgent that has a place; the last place is kept for what is asked soon. */
  #nextJob(): Job | undefined {
    const running = [...this.#threads].flatMap(({ job }) => job ?? [])
    if (running.length >= this.#most) return undefined
    const slow = running.filter(({ priority }) => priority !== 'soon').length
    const slowPlaces = Math.max(1, this.#most - 1)
    for (const priority of PRIORITIES) {
      if (priority !== 'soon' && slow >= slowPlaces) return undefined
      const job = this.#waiting.find((one) => one.priority === priority)
      if (job) return job
    }
    return undefined
  }

  #begin(): Thread {
    const worker = new Worker(this.#options.script, {
      resourceLimits: { maxOldGenerationSizeMb: MOST_HEAP_MB, maxYoungGenerationSizeMb: YOUNG_HEAP_MB },
    })
    worker.unref()
    const thread: Thread = { worker, job: undefined, idle: undefined }
    this.#threads.add(thread)
    worker.on('message', (answer: Answer) => this.#answered(thread, answer))
    worker.on('error', (fault) => this.#drop(thread, endOf(fault)))
    worker.on('exit', (code) =>
      this.#drop(thread, new StoreError('input-output', said('reading-thread-ended', { code }))),
    )
    return thread
  }

  #answered(thread: Thread, answer: Answer): void {
    const { job } = thread
    thread.job = undefined
    if (job) settle(job, () => tell(job, answer))
    if (answer.heldBytes > (this.#options.heldBytes ?? HELD_BYTES)) this.#drop(thread)
    else {
      thread.idle = setTimeout(() => void this.#end(thread), this.#options.idleMs ?? IDLE_MS)
      thread.idle.unref()
      this.#dispatch()
    }
  }

  /** Ends a thread at once, with what it is doing. */
  #drop(thread: Thread, fault: unknown = new StoreError('refused', said('no-longer-wanted', {}))): void {
    if (!this.#threads.delete(thread)) return
    clearTimeout(thread.idle)
    const { job } = thread
    thread.job = undefined
    if (job) settle(job, () => job.reject(fault))
    void thread.worker.terminate()
    if (!this.#closed) this.#dispatch()
  }

  /** Lets a thread put away what it holds; one that does not come to it is ended all the same. */
  async #end(thread: Thread, fault?: StoreError): Promise<void> {
    if (thread.job) Atomics.store(new Int32Array(thread.job.wanted), 0, 1)
    const { worker, job } = thread
    if (job && fault) settle(job, () => job.reject(fault))
    const ended = new Promise((resolve) => worker.once('exit', resolve))
    if (!job) this.#threads.delete(thread)
    clearTimeout(thread.idle)
    worker.postMessage('close')
    const timer = setTimeout(() => void worker.terminate(), CLOSING_MS)
    await ended
    clearTimeout(timer)
    this.#threads.delete(thread)
  }
}

function settle(job: Job, how: () => void): void {
  if (job.done) return
  job.done = true
  how()
}

function tell(job: Job, answer: Answer): void {
  if ('result' in answer) job.resolve(answer.result)
  else job.reject(faultOf(answer.failure))
}

const endOf = (fault: unknown): unknown =>
  fault instanceof Error && 'code' in fault && fault.code === 'ERR_WORKER_OUT_OF_MEMORY'
    ? new StoreError('refused', said('beyond-memory', {}), {}, fault)
    : fault
