import { Ask } from './Ask.tsx'
import { Field } from './Field.tsx'
import { SignedAs } from './SignedAs.tsx'

interface Props {
  title: string
  words: string
  act: string
  danger?: boolean
  /** Name of the person who is signed in; undefined: who it is will be asked. */
  who: string | undefined
  why: string
  /** What is written, where it is no reason. */
  label?: string
  /** Whether the act stands without a reason. */
  whyOptional?: boolean
  problem: string | undefined
  onWhy: (why: string) => void
  onAct: () => void
  onClose: () => void
}

/** An act that the record must be able to explain: who, and why. */
export function Reason({
  title,
  words,
  act,
  danger,
  who,
  why,
  label = 'Why',
  whyOptional = false,
  problem,
  onWhy,
  onAct,
  onClose,
}: Props) {
  return (
    <Ask
      title={title}
      act={act}
      danger={danger ?? false}
      disabled={!whyOptional && why.trim() === ''}
      problem={problem}
      onAct={onAct}
      onClose={onClose}
    >
      <p>{words}</p>
      <SignedAs who={who} />
      <Field
        label={whyOptional ? `${label} (may stay empty)` : label}
        value={why}
        onChange={onWhy}
        lines={2}
        about="Kept with the session for good."
      />
    </Ask>
  )
}
