import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import { focusPlace, say } from '../page/page.ts'
import { readWalk, type Walk, type WalkAct, walkCommand, walkReduce } from './walk.model.ts'

const KEPT = 'stillpoint-first-walk'

/** How far this person has come; kept with the browser, so that the walk goes on where it was. */
export const walkStore = createStore<Walk>(() => {
  const kept = readWalk(localStorage.getItem(KEPT))
  // The address of a practice station asks for the walk; the page takes it out of the address as it opens.
  const asked = new URLSearchParams(location.hash.slice(1)).has('walk')
  return asked && kept.stage === 'fresh' ? walkReduce(kept, { do: 'begin' }) : kept
})

walkStore.subscribe((walk) => localStorage.setItem(KEPT, JSON.stringify(walk)))

export const useWalk = (): Walk => useStore(walkStore)
export const walkAct = (act: WalkAct): void => walkStore.setState((walk) => walkReduce(walk, act))

export function beginWalk(): void {
  walkAct({ do: 'begin' })
}

export function stopWalk(): void {
  walkAct({ do: 'stop' })
  focusPlace()
  say('The first walk is closed. The list of commands takes it up where you left it.', 'done', beginWalk)
}

/** The walk's line in the list of commands: begins it, takes it up again, or stops it. */
export const walkCommandNow = () => {
  const walk = walkStore.getState()
  return {
    id: 'walk',
    words: walkCommand(walk),
    group: 'Window',
    run: walk.stage === 'walking' ? stopWalk : beginWalk,
  }
}
