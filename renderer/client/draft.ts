import { useCallback, useEffect, useRef, useState } from 'react'
import { station } from './connect.ts'

/** How long after the last key a draft is sent to the station, ms. */
const SEND_AFTER_MS = 400

interface Kept {
  value: unknown
  timer: ReturnType<typeof setTimeout> | undefined
}
/** Drafts of this window, by key: a walk to another place and back finds them at once. */
const kept = new Map<string, Kept>()

function send(key: string): void {
  const entry = kept.get(key)
  if (!entry?.timer) return
  clearTimeout(entry.timer)
  entry.timer = undefined
  // Without the station the draft stays here; the next key tries again.
  void station.drafts.put({ key, json: JSON.stringify(entry.value) }).catch(() => undefined)
}

// What was typed a moment before the page goes is sent while it still can be.
addEventListener('pagehide', () => {
  for (const key of kept.keys()) send(key)
})

export interface DraftHold<T> {
  /** What was typed; undefined while nothing has been. */
  draft: T | undefined
  /** Whether the station has been asked for what was typed before. */
  asked: boolean
  set: (value: T) => void
  /** It was saved, or given up. */
  drop: () => void
}

/** Holds what a person types under a key, here and on the station, until it is saved. `key` undefined: nothing is held. */
export function useDraft<T>(key: string | undefined): DraftHold<T> {
  const [draft, setDraft] = useState<T | undefined>(() =>
    key === undefined ? undefined : (kept.get(key)?.value as T | undefined),
  )
  const [asked, setAsked] = useState(key === undefined || kept.has(key))
  const now = useRef(key)
  useEffect(() => {
    now.current = key
    const here = key === undefined ? undefined : kept.get(key)
    setDraft(here?.value as T | undefined)
    setAsked(key === undefined || here !== undefined)
    if (key === undefined || here) return
    station.drafts.get({ key }).then(
      (found) => {
        if (now.current !== key) return
        // What was typed meanwhile is newer.
        if (found && !kept.has(key)) {
          const value = JSON.parse(found.json) as T
          kept.set(key, { value, timer: undefined })
          setDraft(value)
        }
        setAsked(true)
      },
      () => now.current === key && setAsked(true),
    )
  }, [key])
  const set = useCallback(
    (value: T) => {
      if (key === undefined) return
      clearTimeout(kept.get(key)?.timer)
      kept.set(key, { value, timer: setTimeout(() => send(key), SEND_AFTER_MS) })
      setDraft(value)
    },
    [key],
  )
  const drop = useCallback(() => {
    if (key === undefined) return
    clearTimeout(kept.get(key)?.timer)
    kept.delete(key)
    setDraft(undefined)
    void station.drafts.drop({ key }).catch(() => undefined)
  }, [key])
  return { draft, asked, set, drop }
}
