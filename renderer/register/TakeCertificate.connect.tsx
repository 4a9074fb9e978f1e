import { useState } from 'react'
import { first } from '../../app/base/lists.ts'
import type { CertificateLook } from '../../app/contract/calls-register.ts'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { useChoices } from '../client/records.ts'
import { saySaved } from './TakeBack.connect.tsx'
import { TakeCertificate } from './TakeCertificate.tsx'

/** A certificate's file that was looked at. */
export interface LookedAtFile {
  readonly file: string
  readonly text: string
  readonly look: CertificateLook
}

/** Has the station read a certificate; nothing is written. Refused in words where it is none. */
export async function lookAtFile(file: File): Promise<LookedAtFile> {
  const text = await file.text()
  return { file: file.name, text, look: await station.register.lookAtCertificate({ text }) }
}

interface Props extends LookedAtFile {
  onDone: (id?: string) => void
}

/** Shows what was read of a certificate, and takes it into the entry that is chosen. */
export function TakeCertificateNow({ file, text, look, onDone }: Props) {
  const [to, setTo] = useState(look.entries.length === 1 ? first(look.entries).id : '')
  const [why, setWhy] = useState(`certificate ${look.number}`)
  const { problem, working, attempt } = useAct()
  const chosen = [to || undefined, ...look.entries.map(({ id }) => id)]
  const thermometers = useChoices('thermometer', chosen)
  const resistors = useChoices('resistor', chosen)
  const options = [
    ...new Map(
      [...thermometers.lines, ...resistors.lines].map(({ id, name }) => [id, { id, name }]),
    ).values(),
  ]
  return (
    <TakeCertificate
      look={look}
      to={to}
      entries={options}
      finder={thermometers.finder}
      why={why}
      working={working !== undefined}
      problem={problem}
      onTo={setTo}
      onWhy={setWhy}
      onClose={() => onDone()}
      onTake={() => {
        attempt(station.register.takeCertificate({ text, to, why: `${why} (${file})` }), ({ words }) => {
          void saySaved(words, to)
          onDone(to)
        })
      }}
    />
  )
}
