import { useState } from 'react'
import type { Repair } from '../../app/records/repair.ts'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { Problem } from '../parts/Problem.tsx'

interface Props {
  /** 2026-03-01. */
  today: string
  who: string
  problem: string | undefined
  onEnter: (repair: Omit<Repair, 'id'>, done: () => void) => void
}

const isDay = (text: string) => /^\d{4}-\d{2}-\d{2}$/.test(text) && !Number.isNaN(Date.parse(text))

/** Enters what was done to a thing: a repair, an adjustment, a refill. */
export function RepairForm({ today, who, problem, onEnter }: Props) {
  const [draft, setDraft] = useState<Omit<Repair, 'id'>>()
  const [tried, setTried] = useState(false)
  if (!draft)
    return (
      <div>
        <Button onPress={() => setDraft({ date: today, what: '', who })}>Enter a repair</Button>
      </div>
    )
  const close = () => {
    setDraft(undefined)
    setTried(false)
  }
  const { date, what, who: by } = { date: draft.date.trim(), what: draft.what.trim(), who: draft.who.trim() }
  const problems = {
    date: isDay(date) ? undefined : 'A day such as 2026-02-10',
    what: what === '' ? 'Say what was done' : undefined,
    who: by === '' ? 'Say who did it' : undefined,
  }
  const field = (key: keyof typeof draft) => ({
    value: draft[key],
    problem: tried ? problems[key] : undefined,
    onChange: (text: string) => setDraft({ ...draft, [key]: text }),
  })
  return (
    <section className="stack" aria-label="New repair">
      <Problem words={problem} />
      <div className="fields">
        <Field label="Date of the repair" {...field('date')} about="Such as 2026-02-10." />
        <Field
          label="What was done"
          {...field('what')}
          about="A repair, an adjustment, a refill: whatever may have changed it."
        />
        <Field label="Done by" {...field('who')} />
      </div>
      <div className="row">
        <Button
          look="main"
          onPress={() => {
            setTried(true)
            if (Object.values(problems).every((words) => words === undefined))
              onEnter({ date, what, who: by }, close)
          }}
        >
          Enter it
        </Button>
        <Button onPress={close}>Cancel</Button>
      </div>
    </section>
  )
}
