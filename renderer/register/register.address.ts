import { CHECK_PAGES, type CheckPage } from './checks/guides.ts'
import { SHELVES, type View } from './register.model.ts'

/** Where in the Register the window is, as its address has it: #register/checks/networks, #register/resistors/rs-1. */
export interface RegisterAddress {
  view: View
  check: CheckPage
  /** Record that is open. */
  id: string | null
}

const VIEWS: readonly View[] = [
  ...SHELVES.map(({ id }) => id),
  'checks',
  'charts',
  'due',
  'ledger',
  'station',
]

/** What an address says; thermometers where it says nothing. */
export function readPath([name, more]: readonly string[]): RegisterAddress {
  const view = VIEWS.find((known) => known === name) ?? 'thermometers'
  return {
    view,
    check: (view === 'checks' && CHECK_PAGES.find(({ id }) => id === more)?.id) || CHECK_PAGES[0].id,
    id: (SHELVES.some(({ id }) => id === view) && more) || null,
  }
}

export function pathOf({ view, check, id }: RegisterAddress): string[] {
  if (view === 'checks') return ['checks', check]
  if (id !== null) return [view, id]
  return view === 'thermometers' ? [] : [view]
}
