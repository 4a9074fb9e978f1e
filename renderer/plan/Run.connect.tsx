import { useStation } from '../client/state.ts'
import { resumeRun } from './RunAsk.connect.tsx'
import { RunBand } from './RunBand.tsx'
import { askRun } from './run.store.ts'

export function RunNow() {
  const runner = useStation((state) => state!.runner)
  const group = useStation((state) => state!.group)
  return <RunBand runner={runner} group={group} onAct={askRun} onResume={resumeRun} />
}
