import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import { readAddress, writeAddress } from './address.ts'
import type { Place } from './places.ts'

/** What the window itself remembers: where it is, how it looks. Nothing of the station's. */

export type Theme = 'light' | 'dark'

export interface Said {
  words: string
  kind: 'done' | 'problem'
  undo?: () => void
  n: number
}

export interface Command {
  id: string
  words: string
  group: string
  keys?: string
  run: () => void
}

export interface PageState {
  place: Place
  /** What in the place: an order, a session, a record; each part of it has its own place in the address. */
  path: readonly string[]
  before: Place | null
  wall: boolean
  commandsOpen: boolean
  glossaryOpen: boolean
  /** Page of the guide that is open. */
  guideOpen: string | null
  theme: Theme
  /** Expanded uncertainties beside numbers. */
  expanded: boolean
  /** Plain single keys work; some people need them off. */
  singleKeys: boolean
  said: Said | null
  /** Thread pulled: keys from the first number to the one unfolded last. */
  thread: { session: string; keys: string[] } | null
  commands: Record<string, readonly Command[]>
}

const STORED = 'stillpoint-window'
interface Stored {
  theme?: Theme
  singleKeys?: boolean
}

function readStored(): Stored {
  try {
    return JSON.parse(localStorage.getItem(STORED) ?? '{}') as Stored
  } catch {
    return {}
  }
}

const stored = readStored()
const began = readAddress(location.hash)
export const page = createStore<PageState>(() => ({
  place: began?.place ?? 'watch',
  path: began?.path ?? [],
  before: null,
  wall: false,
  commandsOpen: false,
  glossaryOpen: false,
  guideOpen: null,
  theme: stored.theme ?? (matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light'),
  expanded: false,
  singleKeys: stored.singleKeys ?? true,
  said: null,
  thread: null,
  commands: {},
}))

export const usePage = <T>(select: (state: PageState) => T): T => useStore(page, select)

page.subscribe(({ theme, singleKeys }, old) => {
  if (theme !== old.theme) document.documentElement.dataset.theme = theme
  if (theme !== old.theme || singleKeys !== old.singleKeys)
    localStorage.setItem(STORED, JSON.stringify({ theme, singleKeys } satisfies Stored))
})

/** Where in each place somebody was: there they come back to. */
const lastPaths = new Map<Place, readonly string[]>()

/**
 * Goes to a place, and to what in it; without a path to where somebody was there before. Each step is one that the
 * browser's Back and Forward take.
 */
export function goTo(place: Place, path: readonly string[] = lastPaths.get(place) ?? []): void {
  const old = page.getState()
  lastPaths.set(place, path)
  page.setState({ place, path, before: old.place === place ? old.before : old.place, wall: false })
  const address = writeAddress({ place, path })
  if (address !== location.hash) history.pushState(null, '', address)
}

/** What in its place the window shows; empty while it is at another. */
export const usePath = (place: Place): readonly string[] =>
  usePage((state) => (state.place === place ? state.path : (lastPaths.get(place) ?? NO_PATH)))
const NO_PATH: readonly string[] = []

/** Follows the browser's Back and Forward, and an address that somebody typed. */
export function followAddress(): { dispose(): void } {
  const follow = () => {
    const next = readAddress(location.hash)
    if (!next) return
    lastPaths.set(next.place, next.path)
    page.setState((old) => ({
      ...next,
      before: old.place === next.place ? old.before : old.place,
      wall: false,
    }))
  }
  window.addEventListener('popstate', follow)
  return { dispose: () => window.removeEventListener('popstate', follow) }
}

/** Lets the focus go on from the place itself: after a key brought it there, or what had the focus is gone. */
export function focusPlace(): void {
  document.getElementById('place')?.focus({ preventScroll: true })
}

const SAID_MS = 10_000
const SAID_UNDO_MS = 40_000
let saidCount = 0
/** One calm sentence at the bottom of the window, with a way back where there is one. */
export function say(words: string, kind: Said['kind'] = 'done', undo?: () => void): void {
  saidCount++
  const n = saidCount
  page.setState({ said: { words, kind, n, ...(undo ? { undo } : {}) } })
  // What went well need not be put away by hand, though a way back is offered for longer; what asks for something stays.
  if (kind === 'done')
    setTimeout(
      () => page.setState(({ said }) => (said?.n === n ? { said: null } : {})),
      undo ? SAID_UNDO_MS : SAID_MS,
    )
}

/** Unfolds a number. */
export function pullThread(session: string, key: string): void {
  page.setState({ thread: { session, keys: [key] } })
}

const steps: (() => void)[] = []
/** Escape calls the newest of these first; each is one step back. */
export function addBackStep(step: () => void): { dispose(): void } {
  steps.push(step)
  return {
    dispose() {
      const at = steps.lastIndexOf(step)
      if (at >= 0) steps.splice(at, 1)
    },
  }
}

/** One step back: the newest thing opened is closed, else the window returns to the place before. */
export function goBack(): void {
  const step = steps.at(-1)
  if (step) {
    step()
    return
  }
  const { before } = page.getState()
  if (before) {
    goTo(before)
    page.setState({ before: null })
  }
}
