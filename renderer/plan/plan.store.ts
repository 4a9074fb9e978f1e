import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import { type UndoAct, type Undoable, undoable, withUndo } from '../text/undo.ts'
import { planChange } from './plan.change.ts'
import { newPlan, type PlanAct, type PlanDraft, planReduce } from './plan.model.ts'

export interface SpreadDraft {
  from: string
  to: string
  count: string
  back: boolean
}

interface PlanEdit {
  state: Undoable<PlanDraft>
  /** A plan was opened, begun or edited; until then the first one that the station has is shown. */
  opened: boolean
  spread: SpreadDraft
}

const edit = withUndo(planReduce, planChange)
/** Opening another plan is no edit: there is nothing before it to go back to. */
const reduce = (state: Undoable<PlanDraft>, a: UndoAct<PlanAct>): Undoable<PlanDraft> =>
  a.do === 'load' ? undoable(a.draft) : edit(state, a)

export const freshPlan = (): PlanDraft => newPlan(`plan-${Date.now().toString(36)}`)

/** The plan as it is being edited; it outlives a walk to another place. */
export const planStore = createStore<PlanEdit>(() => ({
  state: undoable(freshPlan()),
  opened: false,
  spread: { from: '0', to: '150', count: '4', back: true },
}))
/** Takes up an edit of before; one step back is what the station has. */
export function takeUpPlan(now: PlanDraft, saved: PlanDraft | undefined): void {
  const past = [{ state: saved ?? freshPlan(), words: 'what was typed before this window was opened' }]
  planStore.setState({ state: { ...undoable(now), past }, opened: true })
}
export const usePlanEdit = (): PlanEdit => useStore(planStore)

export const planAct = (a: UndoAct<PlanAct>): void =>
  planStore.setState(({ state }) => ({ state: reduce(state, a), opened: true }))
