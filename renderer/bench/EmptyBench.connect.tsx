import { goTo } from '../page/page.ts'
import { walkCommand } from '../shell/walk/walk.model.ts'
import { beginWalk, useWalk } from '../shell/walk/walk.store.ts'
import { benchStore } from './bench.store.ts'
import { EmptyBench as Panel } from './EmptyBench.tsx'
import { useLab } from './lab.ts'

export function EmptyBench() {
  const lab = useLab()
  const walk = useWalk()
  return (
    <Panel
      starting={lab.starting}
      problem={lab.problem}
      onTry={lab.start}
      walkWords={
        walk.stage === 'walking' ? undefined : walk.stage === 'away' ? walkCommand(walk) : 'Lead me through'
      }
      onWalk={beginWalk}
      onSetUp={() => {
        benchStore.getState().begin()
        goTo('bench')
      }}
    />
  )
}
