import { useStation } from '../../client/state.ts'
import { askRecord } from '../../desk/record.store.ts'
import { askRun } from '../../desk/run.store.ts'
import { Recording } from './Recording.tsx'

/** The way to a record of one's own: begun and stopped as everywhere in the window. */
export function RecordingNow() {
  const bench = useStation((state) => state?.bench?.name)
  const session = useStation((state) => state?.session)
  return (
    <Recording
      bench={bench}
      session={session ?? undefined}
      onRecord={() => askRecord()}
      onStop={() => askRun('stop')}
    />
  )
}
