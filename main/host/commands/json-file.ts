import { readFileSync } from 'node:fs'
import type { z } from 'zod'
import { at } from '../../../app/base/lists.ts'

/**
 * A file of JSON that must be `what`, and its text as it was parsed.
 *
 * Throws: a sentence that names the file, and the place in it that does not fit.
 */
export function readJsonFile<T extends z.ZodType>(
  file: string,
  schema: T,
  what: string,
): { data: z.output<T>; json: unknown } {
  let json: unknown
  try {
    json = JSON.parse(readFileSync(file, 'utf8'))
  } catch (fault) {
    throw new Error(
      `${file} cannot be read as JSON: ${fault instanceof Error ? fault.message : String(fault)}`,
    )
  }
  const parsed = schema.safeParse(json)
  if (parsed.success) return { data: parsed.data, json }
  const first = at(parsed.error.issues, 0)
  throw new Error(`${file} is not ${what}: ${first.path.join('.')}: ${first.message}`)
}
