import { describe, expect, it } from 'vitest'
import { z } from 'zod'
import { contract } from '../../app/contract/index.ts'

interface Call {
  readonly name: string
  readonly input: z.ZodType | undefined
  readonly output: z.ZodType | undefined
}

/** Every call of the contract with what it is asked and what it answers. */
function calls(node: unknown, path: readonly string[] = []): Call[] {
  if (typeof node !== 'object' || node === null) return []
  const inside = (node as Record<string, unknown>)['~orpc'] as
    | { inputSchema?: z.ZodType; outputSchema?: z.ZodType }
    | undefined
  if (inside) return [{ name: path.join('.'), input: inside.inputSchema, output: inside.outputSchema }]
  return Object.entries(node).flatMap(([key, value]) => calls(value, [...path, key]))
}

const fieldsOf = (schema: z.ZodType | undefined): readonly string[] =>
  schema instanceof z.ZodObject ? Object.keys(schema.shape) : []

/** Answers that tell of a limit in another way than by a total. */
const OTHERWISE: Readonly<Record<string, string>> = {
  'live.next': 'a stream: the next question goes on after `last`',
  'history.readings': 'a stretch of one channel: asked on from its last reading',
}

describe('a call with a limit', () => {
  const all = calls(contract)
  const limited = all.filter(({ input }) => fieldsOf(input).includes('most'))

  it('says how many there are in all, and can be asked to go on where it ended', () => {
    expect(all.length).toBeGreaterThan(60)
    expect(limited.length).toBeGreaterThanOrEqual(8)
    for (const { name, input, output } of limited) {
      if (name in OTHERWISE) continue
      expect(fieldsOf(output), `${name} says how many there are`).toContain('total')
      expect(fieldsOf(input), `${name} goes on`).toContain('from')
    }
    for (const name of Object.keys(OTHERWISE))
      expect(
        limited.map((call) => call.name),
        'still a call',
      ).toContain(name)
  })

  it('is what every list of records, sessions, alarms and events is', () => {
    const names = limited.map(({ name }) => name)
    for (const name of [
      'register.list',
      'register.dueDates',
      'register.ledger',
      'archive.sessions',
      'alarms.list',
      'history.events',
      'checks.charted',
    ])
      expect(names).toContain(name)
  })
})
