import { Button } from '../../parts/Button.tsx'
import { Field } from '../../parts/Field.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { fixed } from '../../text/numbers.ts'
import { clockTime } from '../../text/times.ts'

interface Props {
  bench: string | undefined
  session: { name: string; startedUtcUs: number; readings: number } | undefined
  /** The session that runs follows a plan, and is stopped in Plan. */
  planned: boolean
  who: string
  name: string
  problem: string | undefined
  onWho: (who: string) => void
  onName: (name: string) => void
  onStart: () => void
  onStop: () => void
}

/** A record without a plan: begun and ended here, with the bench as it stands. */
export function Recording(props: Props) {
  const { bench, session, planned, who, name } = props
  if (session) {
    return (
      <section className="practise" aria-label="Recording">
        <h3>Recording</h3>
        <p role="status">{`${session.name || 'A session'} has been recorded since ${clockTime(session.startedUtcUs)}: ${fixed(session.readings, 0)} readings.`}</p>
        {planned ? (
          <p className="faint">It follows a plan; it is stopped in Plan.</p>
        ) : (
          <div className="row row-end">
            <Field label="Who" value={who} onChange={props.onWho} />
            <Button look="danger" onPress={props.onStop} disabled={who.trim() === ''}>
              Stop the record
            </Button>
          </div>
        )}
        <Problem words={props.problem} />
      </section>
    )
  }
  return (
    <details className="recording">
      <summary>Record on this bench</summary>
      <div className="stack">
        {bench === undefined ? (
          <p className="faint">
            There is no bench yet. Set one up in Bench, or put one of the lab in a box on it below.
          </p>
        ) : (
          <>
            <p>{`Every channel of ${bench} is read in turn, without a plan and without moving any bath, until the record is stopped here.`}</p>
            <div className="row row-end">
              <Field label="Name of the record" value={name} onChange={props.onName} />
              <Field label="Who" value={who} onChange={props.onWho} />
              <Button onPress={props.onStart} disabled={who.trim() === '' || name.trim() === ''}>
                Start the record
              </Button>
            </div>
          </>
        )}
        <Problem words={props.problem} />
      </div>
    </details>
  )
}
