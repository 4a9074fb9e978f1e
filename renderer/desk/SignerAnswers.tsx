import { Field } from '../parts/Field.tsx'
import { Tick } from '../parts/Tick.tsx'
import { type Answers, QUESTIONS } from './signer.model.ts'

interface Props {
  answers: Answers
  onChange: (answers: Answers) => void
}

/** What only the signer can state: each is answered in words, or by saying that there is none. */
export function SignerAnswers({ answers, onChange }: Props) {
  return (
    <section className="stack" aria-label="Statements of the signer">
      <p className="faint">The certificate states what you answer here, and nothing that you leave out.</p>
      {QUESTIONS.map(({ key, label, about }) => {
        const { none, words } = answers[key]
        return (
          <div key={key} className="signer-answer">
            <Field
              label={label}
              value={none ? '' : words}
              lines={1}
              about={about}
              disabled={none}
              onChange={(next) => onChange({ ...answers, [key]: { none: false, words: next } })}
            />
            <Tick
              label={`${label}: none`}
              on={none}
              onChange={(on) => onChange({ ...answers, [key]: { none: on, words } })}
            >
              None
            </Tick>
          </div>
        )
      })}
    </section>
  )
}
