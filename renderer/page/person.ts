import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import type { WindowPerson } from '../../app/contract/calls-people.ts'
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

/** Does it again where the station wanted to know who it is and somebody then said so: what was pressed is not pressed twice. */
export async function orAsPerson<T>(act: () => Promise<T>): Promise<T> {
  try {
    return await act()
  } catch (fault) {
    if ((fault as { code?: unknown }).code !== 'SIGN_IN' || !(await askPerson())) throw fault
    return act()
  }
}
