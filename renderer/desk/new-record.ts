import { goTo, page } from '../page/page.ts'
import { type WantedShelf, wantRecord } from './wanted-record.model.ts'

/** Lets a person enter a record that a list does not have; `take` gets its id, and the window comes back to where it is now. */
export function enterNewRecord(shelf: WantedShelf, take: (id: string) => void): void {
  const { place, path } = page.getState()
  const to = wantRecord({ shelf, back: { place, path }, take })
  goTo(to.place, to.path)
}
