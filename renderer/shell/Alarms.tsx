import type { AlarmView } from '../../app/contract/views.ts'
import { Button } from '../parts/Button.tsx'
import { clockTime } from '../text/times.ts'

interface Props {
  alarms: readonly AlarmView[]
  onAcknowledge: (id: string) => void
}

/** Open alarms, above the place and never in front of it. */
export function Alarms({ alarms, onAcknowledge }: Props) {
  const [first, ...rest] = alarms
  if (!first) return null
  return (
    <div className={`alarms alarms-${first.severity}`} role="alert">
      <svg viewBox="0 0 16 16" aria-hidden="true">
        <path d="M8 1.5L15 14.5H1z" />
        <path d="M8 6v4M8 11.6v1.2" className="alarms-stroke" />
      </svg>
      <span>
        {first.words} <small>{`since ${clockTime(first.utcUs)}`}</small>
        {rest.length > 0 && <small>{` and ${rest.length} more`}</small>}
      </span>
      <Button right="operate" onPress={() => onAcknowledge(first.id)}>
        Acknowledge
      </Button>
    </div>
  )
}
