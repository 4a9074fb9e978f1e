import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'

/** What a person may do to a running night. */
export type RunAct = 'pause' | 'takeNow' | 'skip' | 'stop' | 'note'

/** The act that is being asked about, from whichever place it was called. */
const runStore = createStore<{ asked: Exclude<RunAct, 'pause'> | null }>(() => ({ asked: null }))

export const useAsked = (): Exclude<RunAct, 'pause'> | null => useStore(runStore, ({ asked }) => asked)
export const askRun = (asked: Exclude<RunAct, 'pause'> | null): void => runStore.setState({ asked })
