import type { ReaderTasks } from './reader-tasks.ts'
import { type Asked, WorkerPool, workerScript } from './worker-pool.ts'

const SCRIPT = workerScript('reader-worker', import.meta.url)

/**
 * Reads and makes old sessions in threads of their own, never in the loop that measures: pictures in one, exports, imports, backups
 * and verification in another, so that a long one does not hold up a picture. What is no longer wanted is given up: at
 * once where it still waits, at its next page where it runs.
 */
export class SessionReader {
  readonly #lists = new WorkerPool<ReaderTasks>({ script: SCRIPT })
  readonly #pictures = new WorkerPool<ReaderTasks>({ script: SCRIPT })
  /** These look at every page whether they are still wanted, and leave nothing half made behind then. */
  readonly #long = new WorkerPool<ReaderTasks>({ script: SCRIPT, graceMs: 10_000 })

  /** Pages of lists and searches: at once there. */
  lists(
    signal?: AbortSignal,
  ): Pick<Asked<ReaderTasks>, 'records' | 'sessions' | 'ledger' | 'charted' | 'resistors'> {
    return this.#lists.ask(signal)
  }

  /** Pictures, readings and statistics: soon there. */
  pictures(signal?: AbortSignal): Pick<Asked<ReaderTasks>, 'overview' | 'readings' | 'statistics'> {
    return this.#pictures.ask(signal)
  }

  /** What may take minutes. */
  long(
    signal?: AbortSignal,
  ): Pick<
    Asked<ReaderTasks>,
    | 'verify'
    | 'export'
    | 'registerFile'
    | 'readOrders'
    | 'readRegister'
    | 'ordersFile'
    | 'backup'
    | 'backupStation'
    | 'backupOthers'
    | 'restore'
    | 'import'
  > {
    return this.#long.ask(signal)
  }

  async close(): Promise<void> {
    await Promise.all([this.#lists.close(), this.#pictures.close(), this.#long.close()])
  }
}
