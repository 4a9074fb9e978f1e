import { useState } from 'react'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { goTo } from '../page/page.ts'
import { EmptyBench as Panel } from './EmptyBench.tsx'
import { useLab } from './lab.ts'
import { askNewBench } from './new-bench.store.ts'
import { walkCommand } from './walk.model.ts'
import { beginWalk, useWalk } from './walk.store.ts'

export function EmptyBench() {
  const lab = useLab()
  const walk = useWalk()
  const made = useStation((state) => state?.pace ?? null) !== null
  const [opening, setOpening] = useState(false)
  const { problem, working, attempt } = useAct()
  // The other station's page takes this one's place: it opens until then.
  const practise = () =>
    void attempt(station.station.practice(), ({ address }) => {
      setOpening(true)
      location.assign(address)
    })
  return (
    <Panel
      starting={lab.starting}
      problem={problem ?? lab.problem}
      opening={opening || working !== undefined}
      onPractice={made ? undefined : practise}
      onTry={lab.start}
      walkWords={
        walk.stage === 'walking' ? undefined : walk.stage === 'away' ? walkCommand(walk) : 'Lead me through'
      }
      onWalk={beginWalk}
      onSetUp={() => {
        askNewBench()
        goTo('bench')
      }}
    />
  )
}
