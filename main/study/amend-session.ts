import { said, type ToTell } from '../../app/messages/said.ts'
import type { SessionItem } from '../../app/records/order.ts'
import type { NewSessionEvent } from '../../app/records/session.ts'
import { decisionsOf } from '../../app/results/analysis-input.ts'
import { StationError } from '../station/station-error.ts'
import type { SessionFile } from '../store/session-file.ts'
import type { StationStore } from '../store/station-store.ts'
import type { Act } from './checks.ts'
import { changedRecords, recordsOfThen } from './records-of-session.ts'
import { rebuildDoubts } from './report/session-content.ts'

/** Customers of a session's items, by item, whose name or address stands otherwise in their order now. */
export function changedCustomers(
  store: StationStore,
  session: SessionFile,
): Record<string, SessionItem['customer']> {
  const { items = [] } = decisionsOf(session.setup, session.events()).setup
  return Object.fromEntries(
    items.flatMap(({ item, customer }) => {
      const id = store.records.one('item', item)?.customer
      const now = id === undefined ? undefined : store.records.one('customer', id)
      if (!now) return []
      const { name, address } = now
      const customerNow = { name, address }
      return JSON.stringify(customerNow) === JSON.stringify(customer) ? [] : [[item, customerNow]]
    }),
  )
}

type Amendment = ToTell<NewSessionEvent['kind']>

/**
 * Takes the records of now into an ended session, where one of them turned out wrong: an amendment that carries the
 * corrected entries, written after what is there. Results are computed with them from then on; a report that was signed
 * gets a new version that names the one it replaces. The readings and the records of the day stay as they are. `write`
 * adds the event to the session. Returns what was done, in words. Throws StationError 'refused' where the session still
 * runs, or none of its records has changed.
 */
export function takeRecordsOfNow(
  store: StationStore,
  session: SessionFile,
  { who, why }: Act,
  write: (amendment: Amendment) => void,
): string {
  const { info } = session
  if (info.endedUtcUs === null) {
    throw new StationError('refused', said('correct-while-running', {}), { session: info.id })
  }
  const then = recordsOfThen(session)
  const register = changedRecords(then, store.registerLike(then))
  const customers = changedCustomers(store, session)
  const names = [
    ...Object.values(register).flatMap((entries) => (entries ?? []).map(({ name }) => name)),
    ...new Set(Object.values(customers).map(({ name }) => name)),
  ]
  if (names.length === 0) {
    throw new StationError('refused', said('nothing-to-correct', {}), { session: info.id })
  }
  write({
    kind: 'amendment',
    who,
    said: said('records-of-now', { who, names: names.join(', '), why }),
    data: { register, ...(Object.keys(customers).length > 0 && { customers }), why },
  })
  store.appendLedger({
    who,
    what: 'session amended',
    subject: info.id,
    old: null,
    new: names.join(', '),
    why,
  })
  const done =
    session.signOffs.length > 0
      ? `The records of ${names.join(', ')} are those of now. The report is a new version, a draft until it is signed; it names the one it replaces.`
      : `The records of ${names.join(', ')} are those of now; results are computed with them.`
  return [done, ...rebuildDoubts(session)].join(' ')
}
