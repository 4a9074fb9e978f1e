import { useEffect, useState } from 'react'
import { counted } from '../../../app/base/plural.ts'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useSettings } from '../../client/state.ts'

const LOOK_MS = 5_000
const NAMES = { mqtt: 'MQTT broker', postgres: 'PostgreSQL database' }

/** How far each target has got that sessions are sent on to. */
export function ForwardingNow() {
  const forward = useSettings()?.forward
  const [looks, setLooks] = useState(0)
  useEffect(() => {
    const timer = setInterval(() => setLooks((n) => n + 1), LOOK_MS)
    return () => clearInterval(timer)
  }, [])
  const states = useAnswer(() => station.settings.forwarding(), [forward, looks])
  if (!states.data || states.data.length === 0) return null
  return (
    <dl className="facts">
      {states.data.map(({ kind, behind, words }) => [
        <dt key={kind}>{NAMES[kind]}</dt>,
        <dd key={`${kind} state`}>
          {behind > 0 ? `${words} ${counted(behind, 'reading')} behind.` : words}
        </dd>,
      ])}
    </dl>
  )
}
