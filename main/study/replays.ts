import { WorkerPool, workerScript } from '../store/worker-pool.ts'
import type { ReplayFrame, ReplayTasks } from './replay-tasks.ts'
import type { ReplayOptions } from './replayer.ts'

/** How often a replay goes on, ms. */
const EVERY_MS = 250

type Options = Pick<ReplayOptions, 'register' | 'fromUtcUs'> & { readonly speed: number }

/** Replays of stored sessions, each in a thread of its own that ends with it: nothing of one is worked out where it is measured. */
export class Replays {
  readonly #threads = new Set<WorkerPool<ReplayTasks>>()

  /** The state as it was, a few times a second, at `speed` times real time, until the end or until it is not wanted any more. */
  async *of(
    path: string,
    { speed, ...options }: Options,
    signal?: AbortSignal,
  ): AsyncGenerator<ReplayFrame['state'], void> {
    const thread = new WorkerPool<ReplayTasks>({
      script: workerScript('replay-worker', import.meta.url),
      // What it holds is the replay.
      heldBytes: Number.POSITIVE_INFINITY,
      idleMs: 3_600_000,
    })
    this.#threads.add(thread)
    try {
      const tasks = thread.ask(signal)
      let nowUs = await tasks.begin(path, options)
      yield (await tasks.advance(nowUs)).state
      for (let before = performance.now(); !signal?.aborted; ) {
        await pause(EVERY_MS, signal)
        const now = performance.now()
        // Whole microseconds, as every time in the contract.
        const untilUs = nowUs + Math.round((now - before) * 1000 * speed)
        before = now
        const frame = await tasks.advance(untilUs)
        nowUs = frame.nowUs
        yield frame.state
        if (frame.done) return
      }
    } catch (fault) {
      if (!signal?.aborted) throw fault
    } finally {
      this.#threads.delete(thread)
      await thread.close()
    }
  }

  async close(): Promise<void> {
    await Promise.all([...this.#threads].map((thread) => thread.close()))
  }
}

/** A pause that ends when nobody waits for what comes after it. */
function pause(ms: number, signal?: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    const end = () => {
      clearTimeout(timer)
      signal?.removeEventListener('abort', end)
      resolve()
    }
    const timer = setTimeout(end, ms)
    signal?.addEventListener('abort', end, { once: true })
  })
}
