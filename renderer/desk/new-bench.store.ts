import { createStore } from 'zustand/vanilla'

/** Whether a person, at a place that needs a bench, has asked to set a new one up; Bench takes it up when it is there. */
const newBenchStore = createStore<{ asked: boolean }>(() => ({ asked: false }))

export const askNewBench = (): void => newBenchStore.setState({ asked: true })

/** Calls `begin` at once where a new bench has been asked for, and whenever one is. */
export function onNewBench(begin: () => void): void {
  const take = () => {
    if (!newBenchStore.getState().asked) return
    newBenchStore.setState({ asked: false })
    begin()
  }
  newBenchStore.subscribe(take)
  take()
}
