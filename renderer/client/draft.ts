import { useCallback, useEffect, useRef, useState } from 'react'
import { station } from './connect.ts'

/** How long after the last key a draft is sent to the station, ms. */
const SEND_AFTER_MS = 400

/** Counts up when the drafts of a form change shape: older ones are then left alone. */
const FORM = 1
const stored = (key: string): string => `${FORM}/${key}`

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
  void station.drafts.put({ key: stored(key), json: JSON.stringify(entry.value) }).catch(() => undefined)
}

function hold(key: string, value: unknown): void {
  clearTimeout(kept.get(key)?.timer)
  kept.set(key, { value, timer: setTimeout(() => send(key), SEND_AFTER_MS) })
}

function letGo(key: string): void {
  clearTimeout(kept.get(key)?.timer)
  kept.delete(key)
  void station.drafts.drop({ key: stored(key) }).catch(() => undefined)
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
    station.drafts.get({ key: stored(key) }).then(
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
      hold(key, value)
      setDraft(value)
    },
    [key],
  )
  const drop = useCallback(() => {
    if (key === undefined) return
    letGo(key)
    setDraft(undefined)
  }, [key])
  return { draft, asked, set, drop }
}

/** Stores of this window that have asked the station for what was typed before. */
const begun = new Set<string>()

/**
 * Keeps on the station what a store of this window holds and nobody has saved yet, and gives it back once, when the window
 * opens anew. `value` undefined: nothing is unsaved. Nothing is asked until `ready`.
 */
export function useKept<T>(
  key: string,
  value: T | undefined,
  ready: boolean,
  restore: (value: T) => void,
): void {
  const [asked, setAsked] = useState(begun.has(key))
  const latest = useRef({ value, restore })
  latest.current = { value, restore }
  useEffect(() => {
    if (!ready || begun.has(key)) return
    begun.add(key)
    station.drafts.get({ key: stored(key) }).then(
      (found) => {
        // What was typed meanwhile is newer.
        if (found && latest.current.value === undefined) latest.current.restore(JSON.parse(found.json) as T)
        setAsked(true)
      },
      () => setAsked(true),
    )
  }, [key, ready])
  const json = value === undefined ? undefined : JSON.stringify(value)
  const told = useRef(json)
  useEffect(() => {
    if (!asked || json === told.current) return
    told.current = json
    if (json === undefined) letGo(key)
    else hold(key, latest.current.value)
  }, [asked, json, key])
}
