import { useState } from 'react'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { say } from '../page/page.ts'
import { usePerson } from '../page/person.ts'
import { Reason } from '../parts/Reason.tsx'

interface Props {
  session: string
  /** Channels whose fits have coefficients. */
  channels: readonly { channel: string; name: string }[]
  onClose: () => void
}

/** Takes what a signed session found into the register: calibrations, and R(WTP) where it was measured. */
export function TakeOver({ session, channels, onClose }: Props) {
  const who = usePerson().person?.name
  const [why, setWhy] = useState('')
  const { problem, attempt } = useAct()
  const take = () =>
    attempt(async () => {
      for (const { channel } of channels) await station.checks.enterCalibration({ session, channel, why })
      say(`${channels.length} calibrations are in the register and its ledger.`)
      onClose()
    })
  return (
    <Reason
      title="Take the calibrations into the register"
      words={`${channels.map(({ name }) => name).join(', ')}: the coefficients of this session become their calibrations in force. The earlier ones stay in the register.`}
      act="Take them in"
      danger
      who={who}
      why={why}
      problem={problem}
      onWhy={setWhy}
      onAct={() => void take()}
      onClose={onClose}
    />
  )
}
