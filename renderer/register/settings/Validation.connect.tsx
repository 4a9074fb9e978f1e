import { useEffect, useState } from 'react'
import { useAct } from '../../client/act.ts'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useSettings, useStation } from '../../client/state.ts'
import { goTo, say } from '../../page/page.ts'
import { useMay } from '../../page/person.ts'
import { Button } from '../../parts/Button.tsx'
import { save } from '../../text/save.ts'
import { Validation } from './Validation.tsx'

/** How often a window looks how far a validation is, ms. */
const LOOK_MS = 1000

/** Validation of the program, for who sees to the station and who signs. */
export function ValidationNow() {
  const version = useStation((state) => state?.versions.settings)
  const settings = useSettings()
  const mayRequire = useMay('administer')
  const [mine, setMine] = useState(false)
  const [round, setRound] = useState(0)
  const { problem, attempt } = useAct()
  const answer = useAnswer(() => station.validation.state(), [version, round])
  const state = answer.data
  const running = mine || state?.running != null
  useEffect(() => {
    if (!running) return
    const timer = setInterval(() => setRound((n) => n + 1), LOOK_MS)
    return () => clearInterval(timer)
  }, [running])
  if (!state) return null
  const told = (call: Promise<{ words: string }>) =>
    attempt(call, ({ words }) => {
      say(words)
    })
  return (
    <Validation
      state={state}
      running={running}
      problem={problem ?? answer.problem}
      onRun={() => {
        setMine(true)
        void told(station.validation.run()).finally(() => setMine(false))
      }}
      onAccept={(id, use) => void told(station.validation.accept({ id, use }))}
      onSave={({ id, version: of }, format) =>
        attempt(station.validation.paper({ id, format }), (file) =>
          save(file as Blob, `validation-${of}-${id}.${format}`),
        )
      }
      onRequired={
        mayRequire && settings
          ? (signOffNeedsValidation) =>
              void told(station.settings.save({ settings: { ...settings, signOffNeedsValidation } }))
          : undefined
      }
    />
  )
}

/** After an upgrade, above every place: the program is another than the one that was validated. */
export function ValidationBand() {
  const version = useStation((state) => state?.versions.settings)
  const may = useMay('administer')
  const [later, setLater] = useState(false)
  const { data } = useAnswer(may && !later ? () => station.validation.state() : undefined, [version, may])
  if (!data?.before || data.accepted || later) return null
  return (
    <div className="alarms alarms-notice" role="status">
      <span>{data.words}</span>
      <Button onPress={() => goTo('register', ['station'])}>See to it</Button>
      <Button look="quiet" onPress={() => setLater(true)}>
        Later
      </Button>
    </div>
  )
}
