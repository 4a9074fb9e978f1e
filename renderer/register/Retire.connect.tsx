import { useState } from 'react'
import type { RecordKindName } from '../../app/contract/pages.ts'
import { useAct } from '../client/act.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { say } from '../page/page.ts'
import { Ask } from '../parts/Ask.tsx'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'

interface Props {
  kind: RecordKindName
  id: string
  name: string
}

/** Takes a record that is not used any more out of the lists, or back into them, each with its reason. */
export function RetireNow({ kind, id, name }: Props) {
  const version = useStation((state) => state?.versions.register)
  const [asks, setAsks] = useState(false)
  const [why, setWhy] = useState('')
  const { problem, attempt, refuse } = useAct()
  const line = useAnswer(
    () => station.register.list({ kinds: [kind], ids: [id], states: ['kept', 'retired'] }),
    [kind, id, version],
  )
  const isRetired = line.data?.rows[0]?.state === 'retired'
  if (!line.data?.rows[0]) return null
  const close = () => {
    setAsks(false)
    setWhy('')
    refuse(undefined)
  }
  const act = isRetired ? 'Bring it back' : 'Take it out'
  return (
    <>
      <Button look="quiet" right="keep-records" onPress={() => setAsks(true)}>
        {isRetired ? 'Bring back' : 'Take out of use'}
      </Button>
      {asks && (
        <Ask
          title={isRetired ? `Bring ${name} back` : `Take ${name} out of use`}
          act={act}
          disabled={why.trim() === ''}
          problem={problem}
          onClose={close}
          onAct={() =>
            attempt(
              (isRetired ? station.register.bringBack : station.register.retire)({ kind, id, why }),
              ({ words }) => {
                say(words)
                close()
              },
            )
          }
        >
          <p>
            {isRetired
              ? 'It stands in the lists again, with all of its calibrations.'
              : 'It leaves the lists and the due dates. Sessions and the ledger keep it; "Out of use" below the list shows it, and it can be brought back.'}
          </p>
          <Field label="Why" value={why} onChange={setWhy} lines={2} about="Kept in the ledger." />
        </Ask>
      )}
    </>
  )
}
