import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'

/** Whether a person has asked to record without a plan and has not yet said who and what. */
const recordStore = createStore<{ asked: boolean }>(() => ({ asked: false }))

export const useRecordAsked = (): boolean => useStore(recordStore, ({ asked }) => asked)
export const askRecord = (asked = true): void => recordStore.setState({ asked })
