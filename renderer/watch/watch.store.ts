import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import { board } from '../live/listen.ts'
import type { StripPicture } from '../signs/night.model.ts'
import { FIRST_CHOICE, type WatchAct, type WatchChoice, watchReduce } from './watch.model.ts'

/** The choices outlive a walk to another place. */
export const watchStore = createStore<WatchChoice>(() => FIRST_CHOICE)
export const act = (a: WatchAct): void => watchStore.setState((choice) => watchReduce(choice, a))
export const useWatch = (): WatchChoice => useStore(watchStore)

/** Holds the view at a moment of the night, or over a stretch of it. */
export function lookAt(from: number, to?: number): void {
  const span = watchStore.getState().spanS
  const window = to === undefined ? { from: from - span / 2, to: from + span / 2 } : { from, to }
  if (to === undefined && from >= board.newestTime - 5) act({ do: 'follow' })
  else act({ do: 'hold', window, newest: board.newestTime })
}

/** The held part of the night in per cent of the strip. */
export function useLooked(picture: StripPicture | undefined): { from: number; to: number } | undefined {
  const held = useStore(watchStore, (choice) => choice.held)
  if (!held || !picture) return undefined
  const part = (s: number) =>
    Math.min(
      100,
      Math.max(0, ((s * 1e6 - picture.startUtcUs) / (picture.endUtcUs - picture.startUtcUs)) * 100),
    )
  return { from: part(held.from), to: part(held.to) }
}
