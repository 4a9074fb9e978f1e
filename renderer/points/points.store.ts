import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import type { Cell } from './points.model.ts'

interface PointsChoice {
  /** A session from the archive; null: the one that runs or ran last. */
  session: string | null
  channel: string | null
  cell: Cell
  report: boolean
}

export const pointsStore = createStore<PointsChoice>(() => ({
  session: null,
  channel: null,
  cell: 'signal',
  report: false,
}))
export const usePoints = (): PointsChoice => useStore(pointsStore)
