/** What a schema cannot see: names that lead nowhere, parts that do not fit each other. Paths as of zod issues. */
export interface Inconsistency {
  readonly path: readonly (string | number)[]
  readonly message: string
}
