import { useState } from 'react'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { say } from '../page/page.ts'
import { usePerson } from '../page/person.ts'
import { Reason } from '../parts/Reason.tsx'

interface Props {
  session: string
  /** Records that differ, in words. */
  changes: readonly string[]
  signed: boolean
  onDone: () => void
  onClose: () => void
}

/** Takes the register's records of today into a past session, with a reason. */
export function CorrectNow({ session, changes, signed, onDone, onClose }: Props) {
  const who = usePerson().person?.name
  const [why, setWhy] = useState('')
  const { problem, attempt } = useAct()
  const follows = signed
    ? 'The signed report stays as it was signed; a new version that names it begins as a draft.'
    : 'The report is computed with them.'
  return (
    <Reason
      title="Correct this session"
      words={`${changes.join('. ')}. Its points are made again from the readings with today’s records. ${follows} Readings and the records of the day are kept.`}
      act="Correct it"
      danger
      who={who}
      why={why}
      problem={problem}
      onWhy={setWhy}
      onClose={onClose}
      onAct={() =>
        attempt(station.archive.takeRecordsOfNow({ session, why }), ({ words }) => {
          say(words)
          onDone()
        })
      }
    />
  )
}
