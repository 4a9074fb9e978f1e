import type { LedgerEntry } from '../../app/contract/studies.ts'

const SAVED = /^(thermometer|resistor|instrument|fluid|cell) saved$/

/** Whether a save can be taken back: there was a record before it, and none of the same record came after it. */
export function canTakeBack(entry: LedgerEntry, entries: readonly LedgerEntry[]): boolean {
  if (!SAVED.test(entry.what) || entry.old === null) return false
  return !entries.some(
    (other) => other.subject === entry.subject && SAVED.test(other.what) && other.n > entry.n,
  )
}
