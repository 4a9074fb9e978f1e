import { useState } from 'react'
import type { Point } from '../../app/records/point.ts'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { say } from '../page/page.ts'
import { usePerson } from '../page/person.ts'
import { Reason } from '../parts/Reason.tsx'
import { fixed } from '../text/numbers.ts'
import { isLeftOut } from './points.model.ts'

interface Props {
  session: string
  point: Point
  /** One channel of the point alone; undefined for all of it. */
  channel: { id: string; name: string } | undefined
  onClose: () => void
}

export function LeaveOutNow({ session, point, channel, onClose }: Props) {
  const who = usePerson().person?.name
  const [why, setWhy] = useState('')
  const { problem, attempt } = useAct()
  const used = channel && point.channels.find((one) => one.channel === channel.id)
  const restore = isLeftOut(channel ? (used?.marks ?? []) : point.marks)
  const at = `${channel ? `${channel.name} at ` : ''}the point at ${fixed(point.setpointC, 2)} °C`
  return (
    <Reason
      title={restore ? `Take ${at} back` : `Leave ${at} out`}
      words={
        restore
          ? 'It counts again in every fit and in the report. The record keeps both decisions.'
          : channel
            ? 'It stays in the record and in this table, but the fit of this thermometer does not use it and the report says so. Every other thermometer keeps the point. It can be taken back.'
            : 'It stays in the record and in this table, but no fit uses it and the report says so. It can be taken back.'
      }
      act={restore ? 'Take it back' : 'Leave it out'}
      who={who}
      why={why}
      problem={problem}
      onWhy={setWhy}
      onClose={onClose}
      onAct={() =>
        attempt(
          station.points.leaveOut({
            session,
            point: point.id,
            ...(channel ? { channel: channel.id } : {}),
            why,
            restore,
          }),
          ({ words }) => {
            say(words)
            onClose()
          },
        )
      }
    />
  )
}
