import { useEffect, useMemo } from 'react'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { focusPlace, say } from '../page/page.ts'
import { openAlarms } from '../page/shell.model.ts'
import { Alarms } from './Alarms.tsx'
import { AGAIN_MS, chime, toBeHeard } from './chime.ts'

/** Sounds when an alarm comes, and each minute until somebody has seen it, where the rules say so. */
function useChime(): void {
  const alarms = useStation((state) => state?.alarms)
  const settings = useStation((state) => state?.versions.settings)
  const rules = useAnswer(() => station.alarms.rules(), [settings])
  const heard = toBeHeard(alarms ?? []).join(', ')
  const sound = rules.data?.sound === true
  useEffect(() => {
    if (!sound || heard === '') return
    chime()
    const again = setInterval(chime, AGAIN_MS)
    return () => clearInterval(again)
  }, [heard, sound])
}

export function AlarmBand() {
  useChime()
  const alarms = useStation((state) => state?.alarms)
  const open = useMemo(() => openAlarms(alarms ?? []), [alarms])
  return (
    <Alarms
      alarms={open}
      onAcknowledge={(id) => {
        station.alarms.acknowledge({ id }).then(
          ({ words }) => {
            say(words)
            if (open.length === 1) focusPlace()
          },
          (fault) => say(wordsOf(fault), 'problem'),
        )
      }}
    />
  )
}
