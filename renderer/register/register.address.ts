import { NEW_RECORD } from '../desk/wanted-record.model.ts'
import { CHECK_PAGES, type CheckPage } from './checks/guides.ts'
import { SHELVES, type View } from './register.model.ts'

/** Where in the Register the window is, as its address has it: #register/checks/networks, #register/resistors/rs-1. */
export interface RegisterAddress {
  view: View
  check: CheckPage
  /** Record that is open. */
  id: string | null
  /** Whether it is being edited; with no record, a new one is. */
  editing: boolean
}

const EDIT = 'edit'

const VIEWS: readonly View[] = [
  ...SHELVES.map(({ id }) => id),
  'checks',
  'charts',
  'due',
  'ledger',
  'station',
]

/** What an address says; thermometers where it says nothing. */
export function readPath([name, more, act]: readonly string[]): RegisterAddress {
  const view = VIEWS.find((known) => known === name) ?? 'thermometers'
  const isShelf = SHELVES.some(({ id }) => id === view)
  return {
    view,
    check: (view === 'checks' && CHECK_PAGES.find(({ id }) => id === more)?.id) || CHECK_PAGES[0].id,
    id: (isShelf && more !== NEW_RECORD && more) || null,
    editing: isShelf && (more === NEW_RECORD || act === EDIT),
  }
}

export function pathOf({ view, check, id, editing }: RegisterAddress): string[] {
  if (view === 'checks') return ['checks', check]
  if (id !== null) return editing ? [view, id, EDIT] : [view, id]
  if (editing) return [view, NEW_RECORD]
  return view === 'thermometers' ? [] : [view]
}
