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
  /** The bench has a standard platinum thermometer as reference. */
  hasStandard: boolean
}

const edit = withUndo(planReduce, planChange)
/** Opening another plan is no edit: there is nothing before it to go back to. */
const reduce = (state: Undoable<PlanDraft>, a: UndoAct<PlanAct>): Undoable<PlanDraft> =>
  a.do === 'load' ? undoable(a.draft) : edit(state, a)

const begun = (hasStandard: boolean): PlanDraft => newPlan(`plan-${Date.now().toString(36)}`, hasStandard)

/** A plan with what the bench asks for by default. */
export const freshPlan = (): PlanDraft => begun(planStore.getState().hasStandard)

/** The plan as it is being edited; it outlives a walk to another place. */
export const planStore = createStore<PlanEdit>(() => ({
  state: undoable(begun(false)),
  opened: false,
  hasStandard: false,
  spread: { from: '0', to: '150', count: '4', back: true },
}))
/** Takes up an edit of before; one step back is what the station has. */
export function takeUpPlan(now: PlanDraft, saved: PlanDraft | undefined): void {
  const past = [{ state: saved ?? freshPlan(), words: 'what was typed before this window was opened' }]
  planStore.setState({ state: { ...undoable(now), past }, opened: true })
}
export const usePlanEdit = (): PlanEdit => useStore(planStore)

/** What the bench's reference is; a plan that nobody has touched yet begins anew by it. */
export function sayStandard(hasStandard: boolean): void {
  const { hasStandard: before, opened } = planStore.getState()
  if (before === hasStandard) return
  planStore.setState({ hasStandard, ...(!opened && { state: undoable(begun(hasStandard)) }) })
}

export const planAct = (a: UndoAct<PlanAct>): void =>
  planStore.setState(({ state }) => ({ state: reduce(state, a), opened: true }))
