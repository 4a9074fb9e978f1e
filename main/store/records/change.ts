import type { RECORD_STATES } from '../../../app/contract/pages.ts'

/** Whether a record is in its lists, kept for the past alone, or taken away; every version of it stays in any case. */
export type RecordState = (typeof RECORD_STATES)[number]

export type Whole = Record<string, unknown>

/**
 * What one version of a record changed. `lists`: elements kept from the beginning, elements kept at the end, and what
 * stands between them now, so that a calibration added to fifty is stored as one.
 */
export interface Change {
  /** Nothing of the version before is kept. */
  fresh?: true
  set?: Whole
  unset?: string[]
  lists?: Record<string, [first: number, last: number, between: unknown[]]>
  state?: RecordState
}

const text = (value: unknown) => JSON.stringify(value)

/** The change from one whole record to the next; undefined before: its first version. */
export function changeOf(before: Whole | undefined, after: Whole, lists: readonly string[]): Change {
  const change: Change = before ? {} : { fresh: true }
  const from = before ?? {}
  const set: Whole = {}
  for (const [key, value] of Object.entries(after)) {
    if (value === undefined) continue
    if (lists.includes(key) && Array.isArray(value)) {
      const splice = spliceOf(from[key], value)
      if (splice) change.lists = { ...change.lists, [key]: splice }
    } else if (text(from[key]) !== text(value)) set[key] = value
  }
  const unset = Object.keys(from).filter((key) => after[key] === undefined)
  if (Object.keys(set).length > 0) change.set = set
  if (unset.length > 0) change.unset = unset
  return change
}

function spliceOf(before: unknown, after: readonly unknown[]): [number, number, unknown[]] | undefined {
  if (!Array.isArray(before)) return [0, 0, [...after]]
  const old = before.map(text)
  const now = after.map(text)
  let first = 0
  while (first < Math.min(old.length, now.length) && old[first] === now[first]) first += 1
  let last = 0
  while (last < Math.min(old.length, now.length) - first && old.at(-1 - last) === now.at(-1 - last)) last += 1
  if (first === old.length && first === now.length) return undefined
  return [first, last, after.slice(first, after.length - last)]
}

/** The whole record after a change. */
export function applyChange(before: Whole | undefined, change: Change): Whole {
  const after: Whole = change.fresh ? {} : { ...before }
  Object.assign(after, change.set)
  for (const key of change.unset ?? []) delete after[key]
  for (const [key, [first, last, between]] of Object.entries(change.lists ?? {})) {
    const old = Array.isArray(after[key]) ? after[key] : []
    after[key] = [...old.slice(0, first), ...between, ...(last > 0 ? old.slice(-last) : [])]
  }
  return after
}
