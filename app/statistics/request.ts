import { z } from 'zod'

export interface Refusal {
  readonly id: unknown
  readonly error: string
}

/** A number, or its decimal text; of text the digits are those that were written. */
export const NumberOrText = z.union(
  [
    z.number(),
    z
      .string()
      .trim()
      .regex(/^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,4})?$/)
      .transform(Number),
  ],
  { error: 'not a number' },
)

/** What is wrong with a request, in words: the first three faults with the place of each. */
function inWords(error: z.ZodError): string {
  return error.issues
    .slice(0, 3)
    .map(({ path, message }) => (path.length > 0 ? `${path.map(String).join('.')}: ${message}` : message))
    .join('; ')
}

/**
 * Makes, of a schema and a function that answers a valid request, one that answers a line of JSON Lines.
 *
 * Symbols  schema of the request; answer gives the fields beside `id`; line, its number in the stream
 * Source   JSON Lines, one JSON value a line
 * Valid    any text; a line that is no JSON, no request or has no answer gives `{id, error}`
 * Throws   nothing
 */
export function lineAnswerer<Request, Answer extends object>(
  schema: z.ZodType<Request>,
  answer: (request: Request) => Answer,
): (line: string, number: number) => ({ id: unknown } & Answer) | Refusal {
  return (line, number) => {
    let parsed: unknown
    try {
      parsed = JSON.parse(line)
    } catch (fault) {
      return { id: null, error: `Line ${number} is not JSON: ${messageOf(fault)}` }
    }
    if (typeof parsed !== 'object' || parsed === null || Array.isArray(parsed)) {
      return { id: null, error: `Line ${number} is not a request: a JSON object is wanted.` }
    }
    const id = (parsed as Record<string, unknown>).id ?? null
    const request = schema.safeParse(parsed)
    if (!request.success) {
      return { id, error: `The request is not complete or not right: ${inWords(request.error)}` }
    }
    try {
      return { id, ...answer(request.data) }
    } catch (fault) {
      return { id, error: messageOf(fault) }
    }
  }
}

function messageOf(fault: unknown): string {
  return fault instanceof Error ? fault.message : String(fault)
}
