import type { ContractRouterClient } from '@orpc/contract'
import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import type { WindowPerson } from '../../app/contract/calls-people.ts'
import type { Contract } from '../../app/contract/index.ts'
import { mayDo, type Right } from '../../app/records/person.ts'

/** Who sits before this window, and whether somebody is being asked who it is. */
interface PersonState extends WindowPerson {
  asked: { answer(entered: boolean): void } | null
}

export const personStore = createStore<PersonState>(() => ({
  onlooker: false,
  person: null,
  anybody: true,
  asked: null,
}))

export const usePerson = () => useStore(personStore)

/** Whether this window offers what needs a right. Where nobody is signed in it does, and asks who it is. */
export const useMay = (right: Right | undefined): boolean =>
  useStore(
    personStore,
    ({ onlooker, person }) => right === undefined || (!onlooker && (person === null || mayDo(person, right))),
  )

/** Asks whoever sits here to sign in; false where that was left. One question at a time. */
export function askPerson(): Promise<boolean> {
  return new Promise((resolve) => {
    personStore.getState().asked?.answer(false)
    personStore.setState({
      asked: {
        answer(entered) {
          personStore.setState({ asked: null })
          resolve(entered)
        },
      },
    })
  })
}

/** Does it at once where somebody is signed in, else after having asked who it is. */
export async function asPerson(then: () => void): Promise<void> {
  if (personStore.getState().person !== null || (await askPerson())) then()
}

const KEPT = 'stillpoint-person'

/** Keeps this window signed in: over the browser's end, or until its tab is closed. */
export function keepToken(token: string, stay = localStorage.getItem(KEPT) !== null): void {
  forgetToken()
  const where = stay ? localStorage : sessionStorage
  where.setItem(KEPT, token)
}

export const keptToken = (): string | null => sessionStorage.getItem(KEPT) ?? localStorage.getItem(KEPT)

export function forgetToken(): void {
  sessionStorage.removeItem(KEPT)
  localStorage.removeItem(KEPT)
}

/** Says to a station that was just joined who sits here, and learns how it sees this window. */
export async function present(client: ContractRouterClient<Contract>): Promise<void> {
  const token = keptToken()
  const seen = token === null ? await client.people.me() : await client.people.comeBack({ token })
  personStore.setState(seen)
}
