import { useEffect, useMemo, useState } from 'react'
import type { Thermometer } from '../../app/records/register.ts'
import { useAct } from '../client/act.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useDraft } from '../client/draft.ts'
import { useToday } from '../client/state.ts'
import { forgetWanted } from '../desk/wanted-record.model.ts'
import type { Texts } from '../parts/forms.ts'
import { EntryEditor } from './EntryEditor.tsx'
import {
  draftOf,
  type Entry,
  type EntryDraft,
  newCalibration,
  problemsToShow,
  questionsOf,
  readEntry,
  SHELVES,
  type Shelf,
} from './register.model.ts'
import { saveEntry } from './save-entry.ts'
import { saySaved } from './TakeBack.connect.tsx'
import { lookWhileTyping } from './typing.model.ts'

interface Props {
  shelf: Shelf
  entry: Entry | undefined
  onDone: (id?: string) => void
}

/** What a person types, with the reason for it and what the record was when it began. */
interface TypedEntry extends Pick<EntryDraft, 'id' | 'texts' | 'calibration'> {
  why: string
  from: Texts
}

export function EditorNow({ shelf, entry, onDone }: Props) {
  const fresh = useMemo(
    () => draftOf(shelf, entry, `${SHELVES.find(({ id }) => id === shelf)!.one}-${Date.now().toString(36)}`),
    [shelf, entry],
  )
  const hold = useDraft<TypedEntry>(`register/${shelf}/${entry?.id ?? 'new'}`)
  const typed = hold.draft
  const why = typed?.why ?? ''
  // Lists that the form does not touch are as they are now.
  const draft: EntryDraft = useMemo(
    () => (typed ? { ...fresh, id: typed.id, texts: typed.texts, calibration: typed.calibration } : fresh),
    [fresh, typed],
  )
  const put = ({ id, texts, calibration }: EntryDraft, reason: string) =>
    hold.set({ id, texts, calibration, why: reason, from: typed?.from ?? fresh.texts })
  const setDraft = (next: EntryDraft) => put(next, why)
  const changedSince = typed !== undefined && JSON.stringify(typed.from) !== JSON.stringify(fresh.texts)
  // Whoever leaves a new record unfinished is waited for no more.
  useEffect(() => (entry ? undefined : forgetWanted), [entry])
  const { problem, attempt } = useAct()
  const [tried, setTried] = useState(false)
  /** The questions that were answered: others are asked anew. */
  const [sure, setSure] = useState<string>()
  const read = useMemo(() => readEntry(shelf, draft), [shelf, draft])
  const look = useMemo(() => (shelf === 'thermometers' ? lookWhileTyping(draft) : undefined), [shelf, draft])
  const today = useToday()
  const [asked, setAsked] = useState<Entry>()
  useEffect(() => {
    const timer = setTimeout(() => setAsked(read.entry), 300)
    return () => clearTimeout(timer)
  }, [read.entry])
  const checks = useAnswer(
    shelf === 'thermometers' && asked
      ? () => station.register.checkThermometer({ entry: asked as Thermometer })
      : undefined,
    [asked],
  )
  const questions = read.entry ? questionsOf(shelf, read.entry) : []
  if (!hold.asked) return null
  return (
    <EntryEditor
      aside={
        typed === undefined
          ? undefined
          : changedSince
            ? 'What you typed is not saved yet, and the record was changed since you began. Cancel shows it as it is now.'
            : 'What you typed is not saved yet. It is kept for you until you save it or cancel.'
      }
      shelf={shelf}
      draft={draft}
      problems={problemsToShow(read.problems, tried)}
      questions={questions}
      sure={sure === questions.join('\n')}
      onSure={(on) => setSure(on ? questions.join('\n') : undefined)}
      tried={tried}
      checks={checks.data ?? []}
      typed={look && read.entry ? { ...look, findings: [] } : look}
      why={why}
      problem={problem}
      onChange={setDraft}
      onWhy={(next) => put(draft, next)}
      onCalibration={() => setDraft({ ...draft, calibration: newCalibration(shelf, today, draft.texts) })}
      onCancel={() => {
        hold.drop()
        onDone()
      }}
      onSave={() => {
        setTried(true)
        if (!read.entry || why.trim() === '') return
        void attempt(saveEntry(shelf, read.entry, why), ({ words }) => {
          hold.drop()
          void saySaved(words, draft.id)
          onDone(draft.id)
        })
      }}
    />
  )
}
