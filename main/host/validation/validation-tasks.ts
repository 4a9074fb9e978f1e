import type { Cancel } from '../../store/thread-talk.ts'
import { validateProgram } from './run.ts'
import { printRecord, type RecordPrint, recordJson } from './write-record.ts'

/** A validation in a thread, and its record on paper; `done` tells how far it is, in thousandths. */
export const validationTasks = {
  validate: async (cancel: Cancel, done: SharedArrayBuffer): Promise<string> => {
    const told = new Int32Array(done)
    const record = await validateProgram((share) => {
      cancel.throwIfAborted()
      Atomics.store(told, 0, Math.round(share * 1000))
    })
    return recordJson(record)
  },

  /** A kept record on paper. */
  print: (_cancel: Cancel, json: string, options: RecordPrint): Promise<{ html: string; pdf: Uint8Array }> =>
    printRecord(json, options),
}

export type ValidationTasks = typeof validationTasks
