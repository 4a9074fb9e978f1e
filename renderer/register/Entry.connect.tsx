import { SurveysNow } from '../desk/Surveys.connect.tsx'
import { Charts } from './Charts.connect.tsx'
import { EntryView } from './EntryView.tsx'
import { LifeNow } from './Life.connect.tsx'
import { KIND_OF } from './lists.connect.tsx'
import { RepairNow } from './Repair.connect.tsx'
import { RetireNow } from './Retire.connect.tsx'
import type { Entry, Shelf } from './register.model.ts'
import { WorkCertificateNow } from './WorkCertificate.connect.tsx'

interface Props {
  shelf: Shelf
  entry: Entry
  locked: boolean
  onEdit: () => void
  onLedger: () => void
}

/** One record as it is kept, with its charts, its life and what can be printed of it. */
export function EntryNow({ shelf, entry, locked, onEdit, onLedger }: Props) {
  return (
    <EntryView
      shelf={shelf}
      entry={entry}
      locked={locked}
      retire={<RetireNow kind={KIND_OF[shelf]} id={entry.id} name={entry.name} />}
      onEdit={onEdit}
      onLedger={onLedger}
      chart={
        <>
          <Charts key={entry.id} shelf={shelf} id={entry.id} />
          {shelf === 'baths' && <SurveysNow key={`surveys ${entry.id}`} bath={entry.id} />}
          <LifeNow
            key={`life ${entry.id}`}
            shelf={shelf}
            id={entry.id}
            repairs={locked || shelf === 'fluids' ? undefined : <RepairNow shelf={shelf} entry={entry} />}
          />
        </>
      }
      certificate={(kind, made) => <WorkCertificateNow kind={kind} id={entry.id} entry={made} />}
    />
  )
}
