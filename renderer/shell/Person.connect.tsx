import { useEffect, useMemo, useState } from 'react'
import { useAct } from '../client/act.ts'
import { enterByDoor, station } from '../client/connect.ts'
import { forgetToken, keepToken, keptToken } from '../client/person.ts'
import { useJoining, useStation } from '../client/state.ts'
import { useCommands } from '../page/hooks.ts'
import { type Command, say } from '../page/page.ts'
import { askPerson, personStore, usePerson } from '../page/person.ts'
import { ChangePassword } from './ChangePassword.tsx'
import { SignIn, type SignInDraft } from './SignIn.tsx'

const EMPTY: SignInDraft = { name: '', password: '', stay: false }

async function signOut(): Promise<void> {
  const token = keptToken()
  const { words } = await station.people.signOut(token === null ? {} : { token })
  forgetToken()
  personStore.setState(await station.people.me())
  say(words)
}

/** Who sits before this window, from every place: its commands, and the question when something needs a person. */
export function PersonNow() {
  const { asked, person, onlooker } = usePerson()
  const register = useStation((state) => state?.versions.register)
  const [changing, setChanging] = useState(false)
  const commands = useMemo<readonly Command[]>(() => {
    const command = (id: string, words: string, run: () => void) => ({ id, words, group: 'Person', run })
    if (onlooker) return []
    if (!person || person.practice) return [command('sign-in', 'Sign in', () => void askPerson())]
    return [
      command('sign-in', 'Sign in as another person', () => void askPerson()),
      command('password', 'Change the password', () => setChanging(true)),
      command('sign-out', 'Sign out', () => void signOut()),
    ]
  }, [person, onlooker])
  useCommands('person', commands)
  // Rights may have changed with the register.
  useEffect(() => {
    if (register !== undefined)
      station.people.me().then(
        (seen) => personStore.setState(seen),
        () => undefined,
      )
  }, [register])
  return (
    <>
      {asked && <Asked />}
      {changing && person && <Changing name={person.name} onClose={() => setChanging(false)} />}
    </>
  )
}

function Asked() {
  const { anybody, person, asked } = usePerson()
  const first = !anybody || person?.practice === true
  const [draft, setDraft] = useState(EMPTY)
  const { problem, attempt } = useAct()
  const enter = () =>
    attempt(async () => {
      const { name, password, stay } = draft
      const entered = first
        ? await station.people.enterFirst({ name, password })
        : await station.people.signIn({ name, password, stay })
      // The only person of a station is asked once.
      keepToken(entered.token, first || stay)
      personStore.setState({ person: entered.person, anybody: true })
      say(entered.words)
      asked?.answer(true)
    })
  return (
    <SignIn
      first={first}
      draft={draft}
      problem={problem}
      onChange={setDraft}
      onEnter={() => void enter()}
      onClose={() => asked?.answer(false)}
    />
  )
}

function Changing({ name, onClose }: { name: string; onClose: () => void }) {
  const [draft, setDraft] = useState({ old: '', next: '' })
  const { problem, attempt } = useAct()
  return (
    <ChangePassword
      name={name}
      draft={draft}
      problem={problem}
      onChange={setDraft}
      onClose={onClose}
      onAct={() =>
        attempt(station.people.changePassword(draft), ({ token, words }) => {
          keepToken(token)
          say(words)
          onClose()
        })
      }
    />
  )
}

/** The door of a page that is served beyond the station's own computer. */
export function DoorNow() {
  const { state } = useJoining()
  const [draft, setDraft] = useState(EMPTY)
  const [problem, setProblem] = useState<string>()
  if (state !== 'door') return null
  return (
    <SignIn
      first={false}
      atDoor
      draft={draft}
      problem={problem}
      onChange={setDraft}
      onEnter={() => void enterByDoor(draft.name, draft.password).then(setProblem)}
      onClose={() => undefined}
    />
  )
}
