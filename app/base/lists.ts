/**
 * The value at a place of a list, counted from 0.
 *
 * For places that the code has found itself, where a value that is not there is a fault of the program. Loops that run over
 * every reading of a record keep bare indices: what is looked up here is looked up by one function for all kinds of lists,
 * which costs some ten nanoseconds.
 */
export function at<T>(list: ArrayLike<T>, place: number): T {
  const value = list[place]
  if (value === undefined) throw new RangeError(`There is no place ${place} in a list of ${list.length}.`)
  return value
}

/** The first of a list that is not empty. */
export const first = <T>(list: ArrayLike<T>): T => at(list, 0)

/** The last of a list that is not empty. */
export const last = <T>(list: ArrayLike<T>): T => at(list, list.length - 1)

/** What the code knows to be there; `what` names it in the fault where it is not. */
export function needed<T>(value: T | null | undefined, what: string): T {
  if (value === undefined || value === null) throw new RangeError(`There is no ${what}.`)
  return value
}

/** The entry of a map or table that the code knows to be there. */
export const entryOf = <K, V>(map: ReadonlyMap<K, V>, key: K): V =>
  needed(map.get(key), `entry ${String(key)}`)

/** Two lists of one length as pairs, place by place. */
export function zip<A, B>(a: ArrayLike<A>, b: ArrayLike<B>): [A, B][] {
  if (a.length !== b.length) throw new RangeError(`Lists of ${a.length} and ${b.length} are no pairs.`)
  return Array.from(a, (value, i): [A, B] => [value, at(b, i)])
}

/** Each value of a list with the one after it. */
export const neighbours = <T>(list: ArrayLike<T>): [T, T][] =>
  Array.from({ length: Math.max(0, list.length - 1) }, (_, i): [T, T] => [at(list, i), at(list, i + 1)])

/** One column of rows. */
export const columnOf = <T>(rows: readonly ArrayLike<T>[], place: number): T[] =>
  rows.map((row) => at(row, place))
