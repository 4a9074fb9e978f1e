import { useAct } from '../client/act.ts'
import { useToday } from '../client/state.ts'
import { usePerson } from '../page/person.ts'
import { RepairForm } from './Repair.tsx'
import type { Entry, Shelf } from './register.model.ts'
import { saveEntry } from './save-entry.ts'
import { saySaved } from './TakeBack.connect.tsx'

/** Enters a repair of a record into it. */
export function RepairNow({ shelf, entry }: { shelf: Shelf; entry: Entry }) {
  const today = useToday()
  const who = usePerson().person?.name ?? ''
  const { problem, attempt } = useAct()
  const earlier = ('repairs' in entry && entry.repairs) || []
  return (
    <RepairForm
      today={today}
      who={who}
      problem={problem}
      onEnter={(repair, done) => {
        const id = `repair-${earlier.length + 1}-${Date.now().toString(36)}`
        const repaired = { ...entry, repairs: [...earlier, { id, ...repair }] } as Entry
        void attempt(saveEntry(shelf, repaired, `repair of ${repair.date}`), ({ words }) => {
          void saySaved(words, entry.id)
          done()
        })
      }}
    />
  )
}
