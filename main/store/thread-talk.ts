import type { Failure } from './failure.ts'

/** What may be asked to stop. A worker polls it, since its own work never lets a message in. */
export type Cancel = Pick<AbortSignal, 'throwIfAborted'>

/** What a thread does, by name. Each task is told how to learn that it is no longer wanted, and then its arguments. */
export type Tasks = Readonly<Record<string, (cancel: Cancel, ...args: never[]) => unknown>>

export interface Request {
  id: number
  name: string
  args: unknown[]
  /** Anything but 0 in it: the answer is no longer wanted. */
  wanted: SharedArrayBuffer
}

export type Answer = {
  id: number
  /** Memory that the thread holds after it, bytes. */
  heldBytes: number
} & ({ result: unknown } | { failure: Failure })
