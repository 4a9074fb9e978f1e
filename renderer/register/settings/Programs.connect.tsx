import { useState } from 'react'
import { useAct } from '../../client/act.ts'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useStation } from '../../client/state.ts'
import { say } from '../../page/page.ts'
import { useMay, usePerson } from '../../page/person.ts'
import { Programs } from './Programs.tsx'

/** Tokens of other programs, for who sees to the station. */
export function ProgramsNow() {
  const { person } = usePerson()
  const may = useMay('administer')
  const version = useStation((state) => state?.versions.settings)
  const [made, setMade] = useState<string>()
  const { problem, attempt } = useAct()
  const asks = may && person !== null
  const tokens = useAnswer(asks ? () => station.tokens.list() : undefined, [version, asks])
  if (!asks) return null
  return (
    <Programs
      tokens={tokens.data ?? []}
      made={made}
      problem={problem ?? tokens.problem}
      onMake={(wanted) =>
        attempt(station.tokens.make(wanted), ({ token, words }) => {
          setMade(token)
          say(words)
        })
      }
      onRevoke={(id) =>
        attempt(station.tokens.revoke({ id }), ({ words }) => {
          setMade(undefined)
          say(words)
        })
      }
    />
  )
}
