import { isWorking, useStation } from '../client/state.ts'
import { EmptyBench } from '../desk/EmptyBench.connect.tsx'
import { usePlaceCommands } from '../page/hooks.ts'
import { say } from '../page/page.ts'
import { CELSIUS_UNITS, readNumber } from '../text/numbers.ts'
import { PlanPanel } from './Plan.tsx'
import { draftOf } from './plan.model.ts'
import { planAct as act, freshPlan, planStore } from './plan.store.ts'
import { Rules } from './Rules.tsx'
import { Setpoints } from './Setpoints.tsx'
import { StartNow } from './Start.connect.tsx'
import { pasteWords } from './setpoints.model.ts'
import { usePlan } from './use-plan.ts'

export default function PlanPlace() {
  const hasBench = useStation((state) => state?.bench !== null)
  const running = useStation(isWorking)
  const { plans, state, spread, draft, plan, problems, changed, isComing, save, open, remove } = usePlan()
  usePlaceCommands('plan', [
    ...(hasBench && changed
      ? [
          {
            id: 'plan-save',
            words: 'Save the plan',
            group: 'Plan',
            run: () => void save().catch(() => undefined),
          },
        ]
      : []),
    { id: 'plan-new', words: 'New plan', group: 'Plan', run: () => open(freshPlan()) },
    {
      id: 'plan-turn',
      words: 'Take the setpoints once more on the way back',
      group: 'Plan',
      run: () => act({ do: 'turn' }),
    },
  ])
  if (!hasBench) return <EmptyBench />
  if (isComing) return null
  return (
    <PlanPanel
      plans={plans}
      chosen={draft.id}
      name={draft.name}
      nameProblem={problems.name}
      changed={changed}
      canUndo={state.past.length > 0}
      canRedo={state.future.length > 0}
      onName={(name) => act({ do: 'set', part: { name } })}
      onChoose={(id) => {
        const found = plans.find((p) => p.id === id)
        if (found && id !== draft.id) open(draftOf(found))
      }}
      onNew={() => open(freshPlan())}
      onSave={() => void save().catch(() => undefined)}
      onRemove={remove}
      onUndo={() => act({ do: 'undo' })}
      onRedo={() => act({ do: 'redo' })}
      setpoints={
        <Setpoints
          rows={draft.rows}
          problems={problems}
          act={act}
          spread={spread}
          onSpread={(next) => planStore.setState({ spread: next })}
          onPaste={(key, text) => {
            act({ do: 'paste', key, text })
            say(pasteWords(text))
          }}
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
