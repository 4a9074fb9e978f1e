/** A state with its way back and forth. Pure: reducers of forms are wrapped in it. */
export interface Undoable<S> {
  now: S
  /** States before, each with what was changed in it next. */
  past: readonly Step<S>[]
  future: readonly Step<S>[]
  /** What the last change touched, as long as the next one may still belong to it. */
  typing: string | undefined
}

export interface Step<S> {
  state: S
  words: string
}

/** What a change is, in words that fit behind 'Taken back: '; typing in one field, key by key, is one change. */
export interface Change {
  words: string
  /** Changes with the same key, one right after another, are one. */
  typing?: string | undefined
}

export type UndoAct<A> = A | { do: 'undo' } | { do: 'redo' }

const MOST = 200

export const undoable = <S>(now: S): Undoable<S> => ({ now, past: [], future: [], typing: undefined })

/** Wraps a reducer: every change can be taken back; a step that changes nothing is not kept. */
export function withUndo<S, A extends { do: string }>(
  reduce: (state: S, act: A) => S,
  changeOf: (state: S, act: A) => Change,
) {
  return (state: Undoable<S>, act: UndoAct<A>): Undoable<S> => {
    if (act.do === 'undo') {
      const before = state.past.at(-1)
      return before === undefined
        ? state
        : {
            now: before.state,
            past: state.past.slice(0, -1),
            future: [{ state: state.now, words: before.words }, ...state.future],
            typing: undefined,
          }
    }
    if (act.do === 'redo') {
      const [next, ...rest] = state.future
      return next === undefined
        ? state
        : {
            now: next.state,
            past: [...state.past, { state: state.now, words: next.words }],
            future: rest,
            typing: undefined,
          }
    }
    const now = reduce(state.now, act as A)
    if (now === state.now) return state
    const { words, typing } = changeOf(state.now, act as A)
    const past =
      typing !== undefined && typing === state.typing
        ? state.past
        : [...state.past.slice(1 - MOST), { state: state.now, words }]
    return { now, past, future: [], typing }
  }
}
