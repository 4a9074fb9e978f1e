import { useState } from 'react'
import type { Plan } from '../../app/records/plan.ts'
import { useAct } from '../client/act.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { isWorking, useStation } from '../client/state.ts'
import { say } from '../page/page.ts'
import { Problem } from '../parts/Problem.tsx'
import { Fill } from './Fill.tsx'

/** Proposes a night for the items that wait; what is put back is left out of it. */
export function FillNow({ onFilled }: { onFilled: (plan: Plan) => void }) {
  const versions = useStation((state) => state?.versions)
  const running = useStation(isWorking)
  const [left, setLeft] = useState<readonly string[]>([])
  const { problem, attempt } = useAct()
  const keys = [versions?.orders, versions?.bench]
  const all = useAnswer(() => station.orders.fill({}), keys)
  const bench = useAnswer(() => station.bench.get(), [versions?.bench])
  const chosen = (all.data?.waiting ?? []).map(({ item }) => item).filter((item) => !left.includes(item))
  const { data } = useAnswer(all.data ? () => station.orders.fill({ items: chosen }) : undefined, [
    ...keys,
    chosen.join('\n'),
    all.data === undefined,
  ])
  if (!data) return <Problem words={all.problem} />
  return (
    <Fill
      fill={data}
      bench={bench.data ?? null}
      chosen={chosen}
      running={running}
      problem={problem}
      onChoose={(item, on) => setLeft(on ? left.filter((id) => id !== item) : [...left, item])}
      onPrepare={() =>
        attempt(
          station.orders.prepare({
            placed: data.placed.map(({ item, channel }) => ({ item, channel })),
            setpoints: data.setpoints,
          }),
          ({ plan, words }) => {
            say(words)
            onFilled(plan)
          },
        )
      }
    />
  )
}
