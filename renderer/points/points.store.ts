import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import { page } from '../page/page.ts'
import { readPointsPath } from '../page/points-address.ts'
import type { Cell } from './points.model.ts'

interface PointsChoice {
  channel: string | null
  cell: Cell
}

export const pointsStore = createStore<PointsChoice>(() => ({ channel: null, cell: 'own' }))
export const usePoints = (): PointsChoice => useStore(pointsStore)

let shown: string | null | undefined
/** A channel chosen in one session says nothing of another's. */
page.subscribe(({ place, path }) => {
  if (place !== 'points') return
  const { session } = readPointsPath(path)
  if (shown !== undefined && session !== shown) pointsStore.setState({ channel: null })
  shown = session
})
