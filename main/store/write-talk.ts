import type { MessagePort } from 'node:worker_threads'
import type { RowKind } from './batch-rows.ts'

/** A batch on its way to the thread that writes: its rows in their order, and the seq that its last reading must get. */
export interface WrittenBatch {
  readonly rows: readonly (readonly [RowKind, readonly unknown[]])[]
  readonly lastSeq: number | null
}

/** What went wrong there, as SQLite or the system said it. */
export interface WriteFault {
  readonly code: string
  readonly message: string
}

/** What the thread says: that it is there, that a batch is on the disk, that the log ends elsewhere, or why nothing of it is stored. */
export type WriteAnswer = 'ready' | 'stored' | 'displaced' | WriteFault

export interface WriteThreadData {
  readonly path: string
  readonly port: MessagePort
  /** How many batches have been answered: their answers lie in the port. ENDED where no more will come. */
  readonly answered: SharedArrayBuffer
}

/** More than any session has batches. */
export const ENDED = 0x7fffffff
