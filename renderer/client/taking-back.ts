import { useEffect, useRef } from 'react'
import { type Command, say } from '../page/page.ts'
import { wordsOf } from './ask.ts'

/**
 * One key takes back the last change, and says which. What is not saved yet is taken back in the form; when nothing
 * of it is left, the last save of the same form is taken back on the station.
 */

/** A form whose edits can be taken back. Its part of the page carries `data-desk` with its id. */
export interface Desk {
  id: string
  /** What one step back, and one forth, would change; undefined: there is none. */
  undoWords: string | undefined
  redoWords: string | undefined
  undo(): void
  redo(): void
}

/** Something that was saved, with its way back. `words` fit behind 'Taken back: '. */
export interface SavedChange {
  words: string
  back(): Promise<unknown>
  again(): Promise<unknown>
}

const MOST_SAVED = 50
const desks = new Map<string, { desk: Desk; touched: number }>()
const saved = new Map<string, { past: SavedChange[]; future: SavedChange[] }>()
let touches = 0

const savedOf = (id: string) => {
  const kept = saved.get(id) ?? { past: [], future: [] }
  saved.set(id, kept)
  return kept
}

/** The desk that a key or command means: the one the focus is in, else the one touched last. */
function deskInHand(focus: Element | null = document.activeElement): Desk | undefined {
  const id = focus?.closest<HTMLElement>('[data-desk]')?.dataset.desk
  if (id !== undefined) return desks.get(id)?.desk
  return [...desks.values()].toSorted((a, b) => b.touched - a.touched)[0]?.desk
}

/** Whether Ctrl+Z in this field is the form's own; elsewhere it stays the field's. */
export const isOnDesk = (focus: Element | null): boolean => focus?.closest('[data-desk]') != null

export type Way = 'back' | 'again'

/** What the next step back (or again) would be, for the list of commands. */
export function stepWords(way: Way, desk = deskInHand()): string | undefined {
  if (!desk) return undefined
  const edit = way === 'back' ? desk.undoWords : desk.redoWords
  if (edit !== undefined) return edit
  const { past, future } = savedOf(desk.id)
  return (way === 'back' ? past : future).at(-1)?.words
}

/** Takes one step back, or does it again; says what. False where there is nothing. */
export function step(way: Way): boolean {
  const desk = deskInHand()
  if (!desk) return false
  const words = way === 'back' ? desk.undoWords : desk.redoWords
  if (words !== undefined) {
    if (way === 'back') desk.undo()
    else desk.redo()
    say(`${way === 'back' ? 'Taken back' : 'Done again'}: ${words}.`)
    return true
  }
  const { past, future } = savedOf(desk.id)
  const change = (way === 'back' ? past : future).at(-1)
  if (!change) {
    say(way === 'back' ? 'There is nothing to take back here.' : 'Nothing was taken back here.')
    return true
  }
  void turn(desk.id, change, way)
  return true
}

async function turn(desk: string, change: SavedChange, way: Way): Promise<void> {
  const { past, future } = savedOf(desk)
  const [from, to] = way === 'back' ? [past, future] : [future, past]
  const at = from.lastIndexOf(change)
  if (at < 0) return
  from.splice(at, 1)
  try {
    await (way === 'back' ? change.back() : change.again())
    to.push(change)
    say(`${way === 'back' ? 'Taken back' : 'Done again'}: ${change.words}.`)
  } catch (fault) {
    from.splice(at, 0, change)
    say(wordsOf(fault), 'problem')
  }
}

/** Says that something was saved, and keeps its way back. */
export function sayTurnable(desk: string, words: string, change: SavedChange): void {
  const { past, future } = savedOf(desk)
  past.push(change)
  if (past.length > MOST_SAVED) past.shift()
  future.length = 0
  say(words, 'done', () => void turn(desk, change, 'back'))
}

/** Puts a form on the list of those whose edits can be taken back, for as long as it is shown. */
export function useDesk(desk: Desk): void {
  const { id, undoWords, redoWords } = desk
  const latest = useRef(desk)
  latest.current = desk
  useEffect(() => {
    const live: Desk = {
      id,
      get undoWords() {
        return latest.current.undoWords
      },
      get redoWords() {
        return latest.current.redoWords
      },
      undo: () => latest.current.undo(),
      redo: () => latest.current.redo(),
    }
    touches++
    desks.set(id, { desk: live, touched: touches })
    return () => void desks.delete(id)
  }, [id])
  // biome-ignore lint/correctness/useExhaustiveDependencies: a change of what could be taken back is a touch
  useEffect(() => {
    const entry = desks.get(id)
    touches++
    if (entry) entry.touched = touches
  }, [id, undoWords, redoWords])
}

/** The two lines in the list of commands, where there is something to take back. */
export function turnCommands(): Command[] {
  const line = (way: Way, id: string, verb: string, keys: string): Command[] => {
    const words = stepWords(way)
    return words === undefined
      ? []
      : [{ id, words: `${verb}: ${words}`, group: 'Window', keys, run: () => void step(way) }]
  }
  return [...line('back', 'undo', 'Undo', 'Ctrl+Z'), ...line('again', 'redo', 'Redo', 'Ctrl+Shift+Z')]
}
