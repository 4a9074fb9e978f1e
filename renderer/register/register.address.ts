import { CHECK_PAGES, type CheckPage } from './checks/guides.ts'
import { SHELVES, type View } from './register.model.ts'

/** Where in the Register the window is, as its address has it: #register/checks/networks. */
export interface RegisterAddress {
  view: View
  check: CheckPage
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
export function readAddress(hash: string): RegisterAddress {
  const [place, view, check] = hash.replace(/^#/, '').split('/')
  const here = place === 'register'
  return {
    view: (here && VIEWS.find((known) => known === view)) || 'thermometers',
    check: (here && CHECK_PAGES.find(({ id }) => id === check)?.id) || CHECK_PAGES[0].id,
  }
}

export function writeAddress({ view, check }: RegisterAddress): string {
  if (view === 'thermometers') return '#register'
  return view === 'checks' ? `#register/checks/${check}` : `#register/${view}`
}
