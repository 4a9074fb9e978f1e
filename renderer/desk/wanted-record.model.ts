import type { Address } from '../page/address.ts'

/** Shelves of the Register that a list elsewhere may ask a new record of. */
export type WantedShelf = 'thermometers' | 'resistors' | 'instruments' | 'fluids'

/** In an address of the Register in place of a record's id: a new one. No record has such an id. */
export const NEW_RECORD = '+'

interface Wanted {
  readonly shelf: WantedShelf
  /** Where the window was when the record was missed. */
  readonly back: Address
  /** The list that missed it takes it. */
  readonly take: (id: string) => void
}
let wanted: Wanted | undefined

/** A list misses a record. Says where the window goes to enter it. */
export function wantRecord(what: Wanted): Address {
  wanted = what
  return { place: 'register', path: [what.shelf, NEW_RECORD] }
}

/**
 * A new record of a shelf is saved, or given up where `id` is undefined: whoever missed it takes it. Says where the window goes
 * back to; undefined where nobody waits.
 */
export function handBack(shelf: string, id: string | undefined): Address | undefined {
  if (wanted?.shelf !== shelf) return undefined
  const { back, take } = wanted
  wanted = undefined
  if (id !== undefined) take(id)
  return back
}

/** Whoever was to enter it has gone elsewhere: nobody waits any more. */
export function forgetWanted(): void {
  wanted = undefined
}
