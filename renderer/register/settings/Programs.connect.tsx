import { useState } from 'react'
import { useAnswer, wordsOf } from '../../client/ask.ts'
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
  const [problem, setProblem] = useState<string>()
  const asks = may && person !== null
  const tokens = useAnswer(asks ? () => station.tokens.list() : undefined, [version, asks])
  if (!asks) return null
  return (
    <Programs
      tokens={tokens.data ?? []}
      made={made}
      problem={problem ?? tokens.problem}
      onMake={(wanted) =>
        station.tokens.make(wanted).then(
          ({ token, words }) => {
            setProblem(undefined)
            setMade(token)
            say(words)
          },
          (fault) => setProblem(wordsOf(fault)),
        )
      }
      onRevoke={(id) =>
        station.tokens.revoke({ id }).then(
          ({ words }) => {
            setMade(undefined)
            say(words)
          },
          (fault) => setProblem(wordsOf(fault)),
        )
      }
    />
  )
}
