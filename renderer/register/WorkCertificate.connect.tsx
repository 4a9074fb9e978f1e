import { useState } from 'react'
import { useAct } from '../client/act.ts'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import type { SignerDraft } from '../desk/Signer.tsx'
import { NO_ANSWERS, statementsOf } from '../desk/signer.model.ts'
import { say } from '../page/page.ts'
import { asPerson, usePerson } from '../page/person.ts'
import { Button } from '../parts/Button.tsx'
import { save } from '../text/save.ts'
import { SignWork } from './SignWork.tsx'

interface Props {
  kind: 'fixed-points' | 'resistor'
  id: string
  entry: string
}

const EMPTY: SignerDraft = {
  password: '',
  answers: NO_ANSWERS,
  gapsKnown: false,
  keyPassword: '',
  keyKept: false,
}

/** The certificate of a calibration at fixed points or of a comparison: its files, and its signature. */
export function WorkCertificateNow({ kind, id, entry }: Props) {
  const versions = useStation((state) => state?.versions)
  const { person } = usePerson()
  const [draft, setDraft] = useState<SignerDraft | null>(null)
  const { problem, attempt } = useAct()
  const of = { kind, id, entry }
  const holds = useAnswer(() => station.checks.certificateHolds(of), [kind, id, entry, versions?.register])
  const number = holds.data?.signed ?? null
  const file = (format: 'pdf' | 'xml') =>
    void station.checks.certificate({ ...of, format }).then(
      (data) => save(data as Blob, `${number ?? `draft-certificate-${id}`}.${format}`),
      (fault) => say(wordsOf(fault), 'problem'),
    )
  return (
    <div className="row">
      <Button onPress={() => file('pdf')}>{number ? `${number}, PDF` : 'Draft certificate, PDF'}</Button>
      <Button onPress={() => file('xml')}>{number ? `${number}, XML` : 'Draft certificate, XML'}</Button>
      {holds.data && number === null && (
        <Button right="authorise" onPress={() => void asPerson(() => setDraft(EMPTY))}>
          Sign this certificate
        </Button>
      )}
      {draft && (
        <SignWork
          title="Sign the certificate"
          who={person?.name}
          needsPassword={person?.practice !== true}
          draft={draft}
          holds={holds.data}
          problem={problem ?? holds.problem}
          onChange={setDraft}
          onClose={() => setDraft(null)}
          onSign={() => {
            const { answers, ...signer } = draft
            const statements = statementsOf(answers)
            if (!statements) return
            attempt(station.checks.signCertificate({ ...of, ...signer, statements }), ({ words }) => {
              say(words)
              setDraft(null)
            })
          }}
        />
      )}
    </div>
  )
}
