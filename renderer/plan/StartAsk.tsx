import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'
import { SignedAs } from '../parts/SignedAs.tsx'
import type { StartDraft } from './start.model.ts'

interface Props {
  who: string | undefined
  draft: StartDraft
  /** What will happen, in sentences. */
  words: readonly string[]
  cautions: readonly string[]
  /** Items of orders that this night measures; with them the order says what else would be asked here. */
  items: readonly string[]
  problem: string | undefined
  onChange: (draft: StartDraft) => void
  onStart: () => void
  onClose: () => void
}

/** Before anything heats: what, from, to, and what follows. */
export function StartAsk({ who, draft, words, cautions, items, problem, onChange, onStart, onClose }: Props) {
  const set = (part: Partial<StartDraft>) => onChange({ ...draft, ...part })
  return (
    <Ask title="Start the night" act="Start" danger problem={problem} onAct={onStart} onClose={onClose}>
      {words.map((w) => (
        <p key={w}>{w}</p>
      ))}
      {cautions.length > 0 && (
        <ul className="cautions">
          {cautions.map((c) => (
            <li key={c}>{c}</li>
          ))}
        </ul>
      )}
      {items.length > 0 && (
        <>
          <p>Each item is measured for its own customer:</p>
          <ul className="checks" aria-label="Items of this night">
            {items.map((words) => (
              <li key={words}>{words}</li>
            ))}
          </ul>
        </>
      )}
      <SignedAs who={who} />
      <div className="fields">
        <Field label="Name of the session" value={draft.name} onChange={(name) => set({ name })} />
        {items.length === 0 && (
          <>
            <Field
              label="Job number"
              value={draft.jobNumber}
              onChange={(jobNumber) => set({ jobNumber })}
              about="For the report; may stay empty."
            />
            <Field label="Customer" value={draft.customer} onChange={(customer) => set({ customer })} />
            <Field
              label="Address of the customer"
              lines={2}
              value={draft.customerAddress}
              onChange={(customerAddress) => set({ customerAddress })}
            />
            <Field
              label="Items received on"
              about="Such as 2026-02-10."
              value={draft.received}
              onChange={(received) => set({ received })}
            />
            <Field
              label="Remarks for the report"
              lines={2}
              value={draft.remarks}
              onChange={(remarks) => set({ remarks })}
              about="One in each line."
            />
          </>
        )}
      </div>
      <Field label="Note" lines={2} value={draft.note} onChange={(note) => set({ note })} />
    </Ask>
  )
}
