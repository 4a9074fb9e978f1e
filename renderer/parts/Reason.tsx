import { Ask } from './Ask.tsx'
import { Field } from './Field.tsx'

interface Props {
  title: string
  words: string
  act: string
  danger?: boolean
  who: string
  why: string
  /** Whether the act stands without a reason. */
  whyOptional?: boolean
  problem: string | undefined
  onWho: (who: string) => void
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
  whyOptional = false,
  problem,
  onWho,
  onWhy,
  onAct,
  onClose,
}: Props) {
  return (
    <Ask
      title={title}
      act={act}
      danger={danger ?? false}
      disabled={who.trim() === '' || (!whyOptional && why.trim() === '')}
      problem={problem}
      onAct={onAct}
      onClose={onClose}
    >
      <p>{words}</p>
      <Field label="Who" value={who} onChange={onWho} />
      <Field
        label={whyOptional ? 'Why (may stay empty)' : 'Why'}
        value={why}
        onChange={onWhy}
        lines={2}
        about="Kept with the session for good."
      />
    </Ask>
  )
}
