/**
 * The new value, with every part that equals the old one replaced by the old one. The station sends its whole state a
 * few times a second; parts that did not change keep their identity, and nothing that shows them is drawn again.
 */
export function reuse<T>(old: T, next: T): T {
  if (Object.is(old, next)) return old
  if (Array.isArray(old) && Array.isArray(next)) {
    let same = old.length === next.length
    const merged = next.map((value, i) => {
      const kept = i < old.length ? reuse(old[i], value) : value
      if (kept !== old[i]) same = false
      return kept
    })
    return (same ? old : merged) as T
  }
  if (isRecord(old) && isRecord(next)) {
    const keys = Object.keys(next)
    let same = keys.length === Object.keys(old).length
    const merged: Record<string, unknown> = {}
    for (const key of keys) {
      merged[key] = reuse(old[key], next[key])
      if (merged[key] !== old[key]) same = false
    }
    return (same ? old : merged) as T
  }
  return next
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}
