import { useStation } from '../client/state.ts'
import { askRecord } from '../desk/record.store.ts'
import { actOnRun, resumeRun } from './RunAsk.connect.tsx'
import { RunBand } from './RunBand.tsx'

/** The bar of the running session, on every place. Nothing while none runs. */
export function RunNow() {
  const runner = useStation((state) => state?.runner)
  const group = useStation((state) => state?.group)
  const look = useStation((state) => state?.session?.look ?? false)
  if (!runner || !group || ['idle', 'ended'].includes(runner.phase)) return null
  return (
    <RunBand
      runner={runner}
      group={group}
      onAct={actOnRun}
      onResume={resumeRun}
      look={look}
      onRecord={() => askRecord()}
    />
  )
}
