import { useState } from 'react'
import type { Person } from '../../../app/records/person.ts'
import { useAct } from '../../client/act.ts'
import { useAnswer, wordsOf } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useSettings, useStation } from '../../client/state.ts'
import { say } from '../../page/page.ts'
import { useMay, usePerson } from '../../page/person.ts'
import { People } from './People.tsx'
import { PersonAsk, type PersonDraft } from './PersonAsk.tsx'

const NEW: PersonDraft = {
  id: undefined,
  name: '',
  position: '',
  rights: ['operate'],
  closed: false,
  password: '',
}

const draftOf = ({ id, name, position = '', rights, closed }: Person): PersonDraft => ({
  id,
  name,
  position,
  rights,
  closed: closed !== undefined,
  password: '',
})

/** People of the station, for who sees to them. */
export function PeopleNow() {
  const { person } = usePerson()
  const may = useMay('administer')
  const version = useStation((state) => state?.versions.register)
  const settings = useSettings()
  const [draft, setDraft] = useState<PersonDraft>()
  const { problem, attempt } = useAct()
  const signedIn = person !== null
  const people = useAnswer(may && signedIn ? () => station.people.list() : undefined, [
    version,
    may,
    signedIn,
  ])
  if (!may || !signedIn || !settings) return null
  const save = ({ id, position, password, rights, ...rest }: PersonDraft) =>
    attempt(
      station.people.save({
        ...rest,
        rights: [...rights],
        ...(id !== undefined && { id }),
        ...(position.trim() !== '' && { position: position.trim() }),
        ...(password !== '' && { password }),
      }),
      ({ words }) => {
        say(words)
        setDraft(undefined)
      },
    )
  return (
    <>
      <People
        people={people.data ?? []}
        problem={people.problem}
        measurerMaySign={settings.measurerMaySign}
        onMeasurerMaySign={(measurerMaySign) =>
          station.settings.save({ settings: { ...settings, measurerMaySign } }).then(
            ({ words }) => say(words),
            (fault) => say(wordsOf(fault), 'problem'),
          )
        }
        onNew={() => setDraft(NEW)}
        onEdit={(one) => setDraft(draftOf(one))}
      />
      {draft && (
        <PersonAsk
          draft={draft}
          problem={problem}
          onChange={setDraft}
          onSave={() => void save(draft)}
          onClose={() => setDraft(undefined)}
        />
      )}
    </>
  )
}
