import { useState } from 'react'
import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { page, say, setWho } from '../page/page.ts'
import { Custodian } from './Custodian.tsx'

const HOUR_MS = 3_600_000
/** Held in the page's memory only, and for as long as the station honours it. */
const tokenStore = createStore<{ token: string | undefined }>(() => ({ token: undefined }))
export const useToken = (): string | undefined => useStore(tokenStore, ({ token }) => token)

interface Props {
  onClose: () => void
  /** Where leaving it locked is another thing than having unlocked it. */
  onLeave?: () => void
}

export function CustodianNow({ onClose, onLeave = onClose }: Props) {
  const has = useAnswer(() => station.register.hasCustodian(), [])
  const [name, setName] = useState(page.getState().who)
  const [password, setPassword] = useState('')
  const [problem, setProblem] = useState<string>()
  if (has.data === undefined) return null
  return (
    <Custodian
      first={!has.data}
      name={name}
      password={password}
      problem={problem}
      onName={setName}
      onPassword={setPassword}
      onClose={onLeave}
      onUnlock={() =>
        station.register.custodian({ name: name.trim(), password }).then(
          ({ token, words }) => {
            tokenStore.setState({ token })
            setTimeout(() => tokenStore.setState({ token: undefined }), HOUR_MS)
            if (page.getState().who === '') setWho(name.trim())
            say(words)
            onClose()
          },
          (fault) => setProblem(wordsOf(fault)),
        )
      }
    />
  )
}
