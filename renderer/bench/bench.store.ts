import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import type { Bench } from '../../app/records/bench.ts'
import { type UndoAct, type Undoable, undoable, withUndo } from '../text/undo.ts'
import { type BenchAct, benchReduce, newBench, type Selected } from './bench.model.ts'

interface BenchEdit {
  /** undefined until a bench was loaded or begun. */
  draft: Undoable<Bench> | undefined
  selected: Selected
  begin(): void
  act(a: UndoAct<BenchAct>): void
  load(bench: Bench): void
  select(selected: Selected): void
}

const reduce = withUndo(benchReduce)

/** The bench as it is being edited; it outlives a walk to another place. */
export const benchStore = createStore<BenchEdit>((set) => ({
  draft: undefined,
  selected: null,
  begin: () => set({ draft: undoable(newBench(`bench-${Date.now().toString(36)}`)), selected: null }),
  act: (a) => set(({ draft }) => (draft ? { draft: reduce(draft, a) } : {})),
  load: (bench) => set({ draft: undoable(bench) }),
  select: (selected) => set({ selected }),
}))
export const useBenchEdit = (): BenchEdit => useStore(benchStore)
