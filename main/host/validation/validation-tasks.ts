import type { Cancel } from '../../store/thread-talk.ts'
import { validateProgram } from './run.ts'
import { recordJson } from './write-record.ts'

/** A validation in a thread; `done` tells how far it is, in thousandths. */
export const validationTasks = {
  validate: async (cancel: Cancel, done: SharedArrayBuffer): Promise<string> => {
    const told = new Int32Array(done)
    const record = await validateProgram((share) => {
      cancel.throwIfAborted()
      Atomics.store(told, 0, Math.round(share * 1000))
    })
    return recordJson(record)
  },
}

export type ValidationTasks = typeof validationTasks
