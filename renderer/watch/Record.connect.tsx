import { useState } from 'react'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { askRecord, useRecordAsked } from '../desk/record.store.ts'
import { useCommands } from '../page/hooks.ts'
import { type Command, goTo, say } from '../page/page.ts'
import { useMay, usePerson } from '../page/person.ts'
import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'
import { SignedAs } from '../parts/SignedAs.tsx'

const COMMANDS: readonly Command[] = [
  { id: 'record', words: 'Record without a plan', group: 'Station', run: () => askRecord() },
]
const NONE: readonly Command[] = []

/** Recording without a plan, from every place: its command, and who and what before it begins. */
export function RecordNow() {
  const may = useMay('operate')
  const isFree = useStation((state) => state !== undefined && state.bench !== null && state.session === null)
  const canRecord = may && isFree
  const asked = useRecordAsked()
  useCommands('record', canRecord ? COMMANDS : NONE)
  return asked && canRecord ? <Asked /> : null
}

function Asked() {
  const who = usePerson().person?.name
  const [name, setName] = useState('')
  const { problem, attempt } = useAct()
  const begin = () =>
    attempt(station.run.record({ name: name.trim() }), () => {
      askRecord(false)
      say('Recording has begun.')
      goTo('watch')
    })
  return (
    <Ask
      title="Record without a plan"
      act="Record"
      problem={problem}
      onAct={() => void begin()}
      onClose={() => askRecord(false)}
    >
      <p>
        Every channel of the bench is measured in turn and kept, until you stop it: a plateau in a cell, a
        check of the bridge, a first look. No bath is set and no point is taken.
      </p>
      <SignedAs who={who} />
      <Field label="Name of the session" value={name} onChange={setName} />
    </Ask>
  )
}
