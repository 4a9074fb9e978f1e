/** Numbers by name, as a publication or an answer states them; one that is not there is a fault, which names it. */
export type NamedNumbers = (name: string) => number

export const namedNumbers =
  (stated: Readonly<Record<string, unknown>>): NamedNumbers =>
  (name) => {
    const value = stated[name]
    if (typeof value !== 'number') throw new RangeError(`There is no number named ${name}.`)
    return value
  }
