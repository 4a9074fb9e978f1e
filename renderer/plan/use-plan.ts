import { useEffect, useMemo } from 'react'
import { utcDay } from '../../app/base/times.ts'
import { standardReferences } from '../../app/plan/standard-reference.ts'
import type { Plan } from '../../app/records/plan.ts'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useKept } from '../client/draft.ts'
import { useRecords } from '../client/records.ts'
import { useStation } from '../client/state.ts'
import { sayTurnable, useDesk } from '../client/taking-back.ts'
import { say } from '../page/page.ts'
import { draftOf, type PlanDraft, readPlan } from './plan.model.ts'
import { planAct as act, freshPlan, planStore, sayStandard, takeUpPlan, usePlanEdit } from './plan.store.ts'

/** Gives the station a plan as it was, or none where there was none, and shows it. */
async function putBack(plan: Plan | undefined, id: string): Promise<void> {
  if (plan) await station.plan.save({ plan, why: 'taken back' })
  else await station.plan.remove({ id })
  if (planStore.getState().state.now.id === id) act({ do: 'load', draft: plan ? draftOf(plan) : freshPlan() })
}

/** Tells the plans that are begun here whether the bench's reference is a standard platinum thermometer. */
function useStandardReference(): void {
  const version = useStation((state) => state?.versions.bench)
  const today = useStation((state) => (state ? utcDay(state.utcUs) : undefined))
  const bench = useAnswer(() => station.bench.get(), [version]).data
  const channels = bench?.channels ?? []
  const register = useRecords({
    thermometers: channels.map((c) => (c.role === 'reference' ? c.thermometer : undefined)),
  }).data
  const known = register !== undefined && today !== undefined
  const hasStandard = known && standardReferences({ channels }, register, today).length > 0
  useEffect(() => {
    if (known) sayStandard(hasStandard)
  }, [known, hasStandard])
}

/** The plan as it is being edited: kept as a draft, saved, opened, removed, and each of these taken back by key. */
export function usePlan() {
  const version = useStation((state) => state?.versions.plans)
  const plans = useAnswer(() => station.plan.list(), [version])
  useStandardReference()
  const { state, opened, spread } = usePlanEdit()
  const draft = state.now
  const saved = plans.data?.find(({ id }) => id === draft.id)
  const first = plans.data?.[0]
  useEffect(() => {
    if (first && !opened) act({ do: 'load', draft: draftOf(first) })
  }, [first, opened])
  useKept<PlanDraft>('plan', state.past.length > 0 ? draft : undefined, plans.data !== undefined, (now) => {
    const before = plans.data?.find(({ id }) => id === now.id)
    takeUpPlan(now, before && draftOf(before))
  })
  const { plan, problems } = useMemo(() => readPlan(draft), [draft])
  const changed = plan !== undefined && JSON.stringify(plan) !== JSON.stringify(saved)
  const save = async () => {
    if (!plan) return
    try {
      const { words } = await station.plan.save({ plan })
      // What was saved is the new beginning: one step back is now the save itself.
      act({ do: 'load', draft })
      sayTurnable('plan', words, {
        words: saved ? `the save of ${plan.name}` : `the new plan ${plan.name}`,
        back: () => putBack(saved, plan.id),
        again: () => putBack(plan, plan.id),
      })
    } catch (fault) {
      say(wordsOf(fault), 'problem')
      throw fault
    }
  }
  /** Opens another plan; what is not saved of this one can be had back. */
  const open = (next: PlanDraft) => {
    act({ do: 'load', draft: next })
    if (!changed) return
    sayTurnable('plan', `${draft.name} was closed with changes that are not saved.`, {
      words: `the opening of ${next.name}, and ${draft.name} is here again with its changes`,
      back: async () => act({ do: 'load', draft }),
      again: async () => act({ do: 'load', draft: next }),
    })
  }
  useDesk({
    id: 'plan',
    undoWords: state.past.at(-1)?.words,
    redoWords: state.future[0]?.words,
    undo: () => act({ do: 'undo' }),
    redo: () => act({ do: 'redo' }),
  })
  const remove = () => {
    if (!saved) return act({ do: 'load', draft: first ? draftOf(first) : freshPlan() })
    station.plan.remove({ id: saved.id }).then(
      () => {
        const next = plans.data?.find(({ id }) => id !== saved.id)
        act({ do: 'load', draft: next ? draftOf(next) : freshPlan() })
        sayTurnable('plan', `${saved.name} is removed.`, {
          words: `the removal of ${saved.name}`,
          back: async () => {
            await station.plan.save({ plan: saved, why: 'taken back' })
            act({ do: 'load', draft: draftOf(saved) })
          },
          again: () => putBack(undefined, saved.id),
        })
      },
      (fault) => say(wordsOf(fault), 'problem'),
    )
  }
  /** What would be typed into a plan that is about to give way to the station's first would be lost. */
  const isComing = !opened && (plans.data === undefined ? plans.problem === undefined : first !== undefined)
  return {
    plans: plans.data ?? [],
    state,
    spread,
    draft,
    plan,
    problems,
    changed,
    isComing,
    save,
    open,
    remove,
  }
}
