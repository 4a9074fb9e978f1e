import type { ReaderTasks, TaskName } from './reader-tasks.ts'
import { WorkerThread, workerScript } from './worker-thread.ts'

type Args<N extends TaskName> = Parameters<ReaderTasks[N]>
type Result<N extends TaskName> = Awaited<ReturnType<ReaderTasks[N]>>

const SCRIPT = workerScript('reader-worker', import.meta.url)

/**
 * Reads and makes old sessions in threads of their own, never in the loop that measures: pictures in one, exports, imports, backups
 * and verification in another, so that a long one does not hold up a picture. What is no longer wanted is given up: at
 * once where it still waits, at its next page where it runs.
 */
export class SessionReader {
  readonly #pictures = new WorkerThread<ReaderTasks>(SCRIPT)
  readonly #long = new WorkerThread<ReaderTasks>(SCRIPT)

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

  import(...args: [...Args<'import'>, signal?: AbortSignal]): Promise<Result<'import'>> {
    return this.#long.ask('import', args.slice(0, 3), args[3])
  }

  async close(): Promise<void> {
    await Promise.all([this.#pictures.close(), this.#long.close()])
  }
}
