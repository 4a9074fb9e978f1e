import { type ReactNode, useState } from 'react'
import type { CheckRequest } from '../../../app/checks/check-request.ts'
import { wordsOf } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { say } from '../../page/page.ts'
import { CustodianNow, useToken } from '../Custodian.connect.tsx'
import { RecordPanel } from './Record.tsx'

interface Props {
  /** What is recorded; undefined where something is missing yet. */
  request: (() => CheckRequest) | undefined
  missing: string | undefined
  act: string
  follows: readonly string[]
  children?: ReactNode
  onDone: () => void
}

/** Takes the result into the register: by the custodian, with a reason. */
export function RecordNow({ request, missing, act, follows, children, onDone }: Props) {
  const token = useToken()
  const [asking, setAsking] = useState(false)
  const [why, setWhy] = useState('')
  const [problem, setProblem] = useState<string>()
  const record = () => {
    if (!token) return setAsking(true)
    station.checks.record({ request: request!(), token, why }).then(
      ({ words }) => {
        setProblem(undefined)
        setWhy('')
        say(words)
        onDone()
      },
      (fault) => setProblem(wordsOf(fault)),
    )
  }
  return (
    <>
      <RecordPanel
        act={act}
        why={why}
        locked={token === undefined}
        ready={request !== undefined}
        missing={missing}
        follows={follows}
        problem={problem}
        onWhy={setWhy}
        onAct={record}
        onUnlock={() => setAsking(true)}
      >
        {children}
      </RecordPanel>
      {asking && <CustodianNow onClose={() => setAsking(false)} />}
    </>
  )
}
