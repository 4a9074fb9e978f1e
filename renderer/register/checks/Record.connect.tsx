import { type ReactNode, useState } from 'react'
import type { CheckRequest } from '../../../app/contract/check-request.ts'
import { useAct } from '../../client/act.ts'
import { station } from '../../client/connect.ts'
import { say } from '../../page/page.ts'
import { useMay } from '../../page/person.ts'
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

/** Takes the result into the register, with a reason. */
export function RecordNow({ request, missing, act, follows, children, onDone }: Props) {
  const may = useMay('keep-records')
  const [why, setWhy] = useState('')
  const { problem, attempt } = useAct()
  const record = () => {
    attempt(station.checks.record({ request: request!(), why }), ({ words }) => {
      setWhy('')
      say(words)
      onDone()
    })
  }
  return (
    <RecordPanel
      act={act}
      why={why}
      locked={!may}
      ready={request !== undefined}
      missing={missing}
      follows={follows}
      problem={problem}
      onWhy={setWhy}
      onAct={record}
    >
      {children}
    </RecordPanel>
  )
}
