import { useEffect, useMemo, useState } from 'react'
import { utcDay } from '../../app/base/times.ts'
import type { Cell } from '../../app/records/cell.ts'
import type { Fluid, InstrumentRecord, Resistor, Thermometer } from '../../app/records/register.ts'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { EntryEditor } from './EntryEditor.tsx'
import { draftOf, type Entry, newCalibration, readEntry, SHELVES, type Shelf } from './register.model.ts'
import { saySaved } from './TakeBack.connect.tsx'
import { lookWhileTyping } from './typing.model.ts'

interface Props {
  shelf: Shelf
  entry: Entry | undefined
  onDone: (id?: string) => void
}

const today = () => utcDay(Date.now() * 1000)

export function EditorNow({ shelf, entry, onDone }: Props) {
  const [draft, setDraft] = useState(() =>
    draftOf(shelf, entry, `${SHELVES.find(({ id }) => id === shelf)!.one}-${Date.now().toString(36)}`),
  )
  const [why, setWhy] = useState('')
  const [problem, setProblem] = useState<string>()
  const read = useMemo(() => readEntry(shelf, draft), [shelf, draft])
  const typed = useMemo(() => (shelf === 'thermometers' ? lookWhileTyping(draft) : undefined), [shelf, draft])
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
  const saveEntry = (saved: Entry) => {
    const rest = { why }
    switch (shelf) {
      case 'thermometers':
        return station.register.saveThermometer({ entry: saved as Thermometer, ...rest })
      case 'resistors':
        return station.register.saveResistor({ entry: saved as Resistor, ...rest })
      case 'instruments':
        return station.register.saveInstrument({ entry: saved as InstrumentRecord, ...rest })
      case 'cells':
        return station.register.saveCell({ entry: saved as Cell, ...rest })
      case 'fluids':
        return station.register.saveFluid({ entry: saved as Fluid, ...rest })
    }
  }
  return (
    <EntryEditor
      shelf={shelf}
      draft={draft}
      problems={read.problems}
      checks={checks.data ?? []}
      typed={typed && read.entry ? { ...typed, findings: [] } : typed}
      why={why}
      ready={read.entry !== undefined}
      problem={problem}
      onChange={setDraft}
      onWhy={setWhy}
      onCalibration={() => setDraft({ ...draft, calibration: newCalibration(shelf, today(), draft.texts) })}
      onCancel={() => onDone()}
      onSave={() =>
        saveEntry(read.entry!).then(
          ({ words }) => {
            void saySaved(words, draft.id)
            onDone(draft.id)
          },
          (fault) => setProblem(wordsOf(fault)),
        )
      }
    />
  )
}
