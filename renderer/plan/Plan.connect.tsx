import { useEffect, useMemo, useReducer, useState } from 'react'
import { EmptyBench } from '../bench/EmptyBench.connect.tsx'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { say } from '../shell/page.ts'
import { CELSIUS_UNITS, readNumber } from '../text/numbers.ts'
import { type UndoAct, type Undoable, undoable, withUndo } from '../text/undo.ts'
import { PlanPanel } from './Plan.tsx'
import { draftOf, newPlan, type PlanAct, type PlanDraft, planReduce, readPlan } from './plan.model.ts'
import { Rules } from './Rules.tsx'
import { RunNow } from './Run.connect.tsx'
import { Setpoints } from './Setpoints.tsx'
import { StartNow } from './Start.connect.tsx'

const edit = withUndo(planReduce)
/** Opening another plan is no edit: there is nothing before it to go back to. */
const reduce = (state: Undoable<PlanDraft>, a: UndoAct<PlanAct>): Undoable<PlanDraft> =>
  a.do === 'load' ? undoable(a.draft) : edit(state, a)
const freshId = () => `plan-${Date.now().toString(36)}`

export default function PlanPlace() {
  const hasBench = useStation((state) => state?.bench !== null)
  const version = useStation((state) => state?.versions.plans)
  const running = useStation((state) => !['idle', 'ended'].includes(state?.runner.phase ?? 'idle'))
  const plans = useAnswer(() => station.plan.list(), [version])
  const [state, act] = useReducer(reduce, undoable(newPlan(freshId())))
  const [spread, setSpread] = useState({ from: '0', to: '150', count: '4', back: true })
  const draft = state.now
  const saved = plans.data?.find(({ id }) => id === draft.id)
  const first = plans.data?.[0]
  const [opened, setOpened] = useState(false)
  useEffect(() => {
    if (!first || opened) return
    setOpened(true)
    act({ do: 'load', draft: draftOf(first) })
  }, [first, opened])
  const { plan, problems } = useMemo(() => readPlan(draft), [draft])
  if (!hasBench) return <EmptyBench />
  const changed = plan !== undefined && JSON.stringify(plan) !== JSON.stringify(saved)
  const save = async () => {
    if (!plan) return
    try {
      const { words } = await station.plan.save({ plan })
      say(words, 'done', saved ? () => void station.plan.save({ plan: saved, why: 'taken back' }) : undefined)
    } catch (fault) {
      say(wordsOf(fault), 'problem')
      throw fault
    }
  }
  return (
    <PlanPanel
      plans={plans.data ?? []}
      chosen={draft.id}
      name={draft.name}
      nameProblem={problems.name}
      changed={changed}
      canUndo={state.past.length > 0}
      canRedo={state.future.length > 0}
      onName={(name) => act({ do: 'set', part: { name } })}
      onChoose={(id) => {
        const found = plans.data?.find((p) => p.id === id)
        if (found) act({ do: 'load', draft: draftOf(found) })
      }}
      onNew={() => {
        setOpened(true)
        act({ do: 'load', draft: newPlan(freshId()) })
      }}
      onSave={() => void save().catch(() => undefined)}
      onRemove={() => {
        if (!saved) return act({ do: 'load', draft: first ? draftOf(first) : newPlan(freshId()) })
        station.plan.remove({ id: saved.id }).then(
          () => say(`${saved.name} is removed.`, 'done', () => void station.plan.save({ plan: saved })),
          (fault) => say(wordsOf(fault), 'problem'),
        )
      }}
      onUndo={() => act({ do: 'undo' })}
      onRedo={() => act({ do: 'redo' })}
      run={running ? <RunNow /> : null}
      setpoints={
        <Setpoints
          rows={draft.rows}
          problems={problems}
          act={act}
          spread={spread}
          onSpread={setSpread}
          onSpreadNow={() => {
            const from = readNumber(spread.from, CELSIUS_UNITS)
            const to = readNumber(spread.to, CELSIUS_UNITS)
            const count = readNumber(spread.count)
            if (from === undefined || to === undefined || count === undefined)
              return say('Spread needs two temperatures and a count.', 'problem')
            act({ do: 'spread', from, to, count, back: spread.back })
          }}
        />
      }
      rules={<Rules draft={draft} problems={problems} act={act} />}
      preview={<StartNow plan={plan} running={running} beforeStart={changed ? save : undefined} />}
      start={null}
    />
  )
}
