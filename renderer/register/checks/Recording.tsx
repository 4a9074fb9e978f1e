import { counted } from '../../../app/base/plural.ts'
import { Button } from '../../parts/Button.tsx'
import { clockTime } from '../../text/times.ts'

interface Props {
  bench: string | undefined
  session: { name: string; startedUtcUs: number; readings: number } | undefined
  onRecord: () => void
  onStop: () => void
}

/** What is being recorded, or the way to begin. */
export function Recording({ bench, session, onRecord, onStop }: Props) {
  if (session) {
    return (
      <section className="row recording" aria-label="Being recorded">
        <p role="status">{`${session.name ? `Session "${session.name}"` : 'A session'}, running since ${clockTime(session.startedUtcUs)}: ${counted(session.readings, 'reading')}.`}</p>
        <Button look="danger" onPress={onStop}>
          Stop the session
        </Button>
      </section>
    )
  }
  return (
    <div className="row recording">
      {bench === undefined ? (
        <p className="faint">
          There is no bench to record yet. Set one up in Bench, or put one of the lab in a box on it, below.
        </p>
      ) : (
        <>
          <Button onPress={onRecord}>Record without a plan</Button>
          <span className="faint">{`Every channel of ${bench} in turn, until it is stopped.`}</span>
        </>
      )}
    </div>
  )
}
