import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import type { Bench } from '../../app/records/bench.ts'
import { reuse } from '../client/reuse.ts'
import { onNewBench } from '../desk/new-bench.store.ts'
import { type UndoAct, type Undoable, undoable, withUndo } from '../text/undo.ts'
import { benchChange } from './bench.change.ts'
import { type BenchAct, benchReduce, newBench, type Selected } from './bench.model.ts'

interface BenchEdit {
  /** undefined until a bench was loaded or begun. */
  draft: Undoable<Bench> | undefined
  /** The station's bench as it last came. */
  stored: Bench | undefined
  /** The station's bench has changed under an edit that is not saved. */
  overtaken: boolean
  selected: Selected
  begin(): void
  act(a: UndoAct<BenchAct>): void
  /** The station's bench has come: it is shown, unless an edit would be lost by that. */
  arrive(bench: Bench): void
  /** Gives the edit up for what the station has. */
  giveUp(): void
  /** Shows a state of the edit again as it was. */
  restore(draft: Undoable<Bench>): void
  /** Takes up an edit of before; `from` is what the station had when it began. */
  takeUp(now: Bench, from: Bench | undefined): void
  select(selected: Selected): void
}

const reduce = withUndo(benchReduce, benchChange)
/** Equal whatever the order of their fields: an edited record has another than one that was just read. */
export const sameBench = (a: Bench | undefined, b: Bench | undefined): boolean => reuse(a, b) === a

/** The bench as it is being edited; it outlives a walk to another place. */
export const benchStore = createStore<BenchEdit>((set) => ({
  draft: undefined,
  stored: undefined,
  overtaken: false,
  selected: null,
  begin: () => set({ draft: undoable(newBench(`bench-${Date.now().toString(36)}`)), selected: null }),
  act: (a) => set(({ draft }) => (draft ? { draft: reduce(draft, a) } : {})),
  arrive: (bench) =>
    set(({ draft, stored }) => {
      if (draft && sameBench(bench, stored)) return {}
      const lost = draft !== undefined && !sameBench(draft.now, stored) && !sameBench(draft.now, bench)
      return lost
        ? { stored: bench, overtaken: true }
        : { stored: bench, draft: undoable(bench), overtaken: false }
    }),
  giveUp: () => set(({ stored }) => (stored ? { draft: undoable(stored), overtaken: false } : {})),
  restore: (draft) => set({ draft }),
  takeUp: (now, from) =>
    set(({ stored }) => ({
      draft: undoable(now),
      overtaken: stored !== undefined && !sameBench(from, stored),
    })),
  select: (selected) => set({ selected }),
}))
export const useBenchEdit = (): BenchEdit => useStore(benchStore)

onNewBench(() => benchStore.getState().begin())
