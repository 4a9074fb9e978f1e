import { PLACES, type Place } from './places.ts'

/** Where the window is: a place, and what in it, as '#orders/o-17' has it. */
export interface Address {
  readonly place: Place
  readonly path: readonly string[]
}

/** What an address says; undefined where it names no place. */
export function readAddress(hash: string): Address | undefined {
  const [name, ...path] = hash.replace(/^#/, '').split('/').map(unescaped)
  const place = PLACES.find(({ id }) => id === name)?.id
  return place && { place, path: path.filter((part) => part !== '') }
}

export const writeAddress = ({ place, path }: Address): string =>
  `#${[place, ...path].map(encodeURIComponent).join('/')}`

/** A part that somebody cut short is taken as it stands. */
function unescaped(part: string): string {
  try {
    return decodeURIComponent(part)
  } catch {
    return part
  }
}
