import { useMemo } from 'react'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { Alarms } from './Alarms.tsx'
import { page, say } from './page.ts'
import { openAlarms } from './shell.model.ts'

export function AlarmBand() {
  const alarms = useStation((state) => state?.alarms)
  const open = useMemo(() => openAlarms(alarms ?? []), [alarms])
  return (
    <Alarms
      alarms={open}
      onAcknowledge={(id) => {
        station.alarms.acknowledge({ id, who: page.getState().who || 'someone at the window' }).then(
          ({ words }) => say(words),
          (fault) => say(wordsOf(fault), 'problem'),
        )
      }}
    />
  )
}
