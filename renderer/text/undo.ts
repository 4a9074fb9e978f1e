/** A state with its way back and forth. Pure: reducers of forms are wrapped in it. */
export interface Undoable<S> {
  now: S
  past: readonly S[]
  future: readonly S[]
}

export type UndoAct<A> = A | { do: 'undo' } | { do: 'redo' }

const MOST = 200

export const undoable = <S>(now: S): Undoable<S> => ({ now, past: [], future: [] })

/** Wraps a reducer: every change can be taken back; a step that changes nothing is not kept. */
export function withUndo<S, A extends { do: string }>(reduce: (state: S, act: A) => S) {
  return (state: Undoable<S>, act: UndoAct<A>): Undoable<S> => {
    if (act.do === 'undo') {
      const before = state.past.at(-1)
      return before === undefined
        ? state
        : { now: before, past: state.past.slice(0, -1), future: [state.now, ...state.future] }
    }
    if (act.do === 'redo') {
      const [next, ...rest] = state.future
      return next === undefined ? state : { now: next, past: [...state.past, state.now], future: rest }
    }
    const now = reduce(state.now, act as A)
    return now === state.now ? state : { now, past: [...state.past.slice(-MOST), state.now], future: [] }
  }
}
