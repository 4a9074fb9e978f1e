import { utcTime } from '../../app/base/times.ts'
import type { StationState } from '../../app/contract/views.ts'
import type { Joining } from '../client/connect.ts'
import type { Said } from '../page/page.ts'
import type { LineView } from '../page/shell.model.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { paceChoices } from '../text/paces.ts'
import { clockTime } from '../text/times.ts'

interface Props {
  view: LineView
  joining: Joining['state']
  said: Said | null
  clock: StationState['clock'] | undefined
  utcUs: number | undefined
  /** Pace of a made-up clock that can be changed; null: none. */
  pace: number | null
  onPace: (pace: number) => void
  /** Who is signed in; null: nobody. */
  person: string | null
  onPerson: (() => void) | undefined
  onCommands: () => void
  onDismiss: () => void
}

/** One line at the bottom: bench, session, step of the plan, disk, links; and what the window last did. */
export function StateLine(props: Props) {
  const { view, joining, said, clock, utcUs, pace, person, onPerson, onCommands, onDismiss } = props
  return (
    <footer className="state-line">
      <div className="state-facts">
        {joining !== 'joined' && (
          <strong className="state-lost" role="status">
            {view.joining}
          </strong>
        )}
        {view.facts.map((fact) => (
          <span
            key={fact.name}
            className={`state-fact${fact.wrong ? ' is-wrong' : ''}${fact.long ? ' is-long' : ''}`}
            title={fact.words}
          >
            <span className="state-name">{fact.name}</span> {fact.words}
          </span>
        ))}
      </div>
      <div className="state-said" aria-live="polite">
        {said && (
          <span key={said.n} className={said.kind === 'problem' ? 'said is-problem' : 'said'}>
            {said.words}
            {said.undo && (
              <Button look="quiet" onPress={said.undo}>
                Take it back
              </Button>
            )}
            <Button look="quiet" label="Put this message away" onPress={onDismiss}>
              ×
            </Button>
          </span>
        )}
      </div>
      {utcUs !== undefined && (
        <time className="state-time" title={utcTime(utcUs)}>
          {clockTime(utcUs)}
          <small>{utcTime(utcUs).slice(11, 16)} UTC</small>
          {clock !== 'real' && (
            <small className="state-clock">{clock === 'scaled' ? 'fast clock' : 'simulated clock'}</small>
          )}
        </time>
      )}
      {pace !== null && (
        <div className="state-pace">
          <Choice
            label="Pace of the practice station"
            compact
            value={String(pace)}
            options={paceChoices(pace)}
            onChange={(id) => props.onPace(Number(id))}
          />
        </div>
      )}
      {onPerson ? (
        <Button look="quiet" onPress={onPerson}>
          {person ?? 'Sign in'}
        </Button>
      ) : (
        <span className="state-fact">{person ?? 'Looking on'}</span>
      )}
      <Button look="quiet" onPress={onCommands}>
        Commands <kbd>?</kbd>
      </Button>
    </footer>
  )
}
