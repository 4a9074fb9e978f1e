import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'

/** What a person may do to a running night. */
export type RunAct = 'pause' | 'takeNow' | 'skip' | 'stop' | 'note'

/** The act that is being asked about, from whichever place it was called. */
const runStore = createStore<{ asked: RunAct | null }>(() => ({ asked: null }))

export const useAsked = (): RunAct | null => useStore(runStore, ({ asked }) => asked)
export const askRun = (asked: RunAct | null): void => runStore.setState({ asked })
