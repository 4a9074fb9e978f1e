import { goTo } from '../shell/page.ts'
import { benchStore } from './bench.store.ts'
import { EmptyBench as Panel } from './EmptyBench.tsx'
import { useLab } from './lab.ts'

export function EmptyBench() {
  const lab = useLab()
  return (
    <Panel
      starting={lab.starting}
      problem={lab.problem}
      onTry={lab.start}
      onSetUp={() => {
        benchStore.getState().begin()
        goTo('bench')
      }}
    />
  )
}
