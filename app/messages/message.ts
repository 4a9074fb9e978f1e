import { IntlMessageFormat } from 'intl-messageformat'
import { z } from 'zod'

/** A message without its sentence: what is kept, and what another language makes its own sentence of. */
export interface Message {
  readonly code: string
  readonly args: Readonly<Record<string, string | Message>>
}
export const Message: z.ZodType<Message> = z.object({
  code: z.string(),
  args: z.record(z.string(), z.union([z.string(), z.lazy(() => Message)])),
})

/** A message with the English sentence made of it. */
export interface Said extends Message {
  readonly words: string
}

/** Patterns in ICU form by code: one language's table. */
export type MessageTable = Readonly<Record<string, string>>

/** Names of the arguments of a pattern, which holds plain arguments only. */
export type NamesIn<Pattern extends string> = Pattern extends `${string}{${infer Name}}${infer Rest}`
  ? Name | NamesIn<Rest>
  : never

const formats = new WeakMap<MessageTable, Map<string, IntlMessageFormat>>()

/** The sentence of a message in a language; undefined where the table does not have its code, or one within it. */
export function sentenceIn(message: Message, table: MessageTable, language: string): string | undefined {
  if (!Object.hasOwn(table, message.code)) return undefined
  const values: Record<string, string> = {}
  for (const [name, value] of Object.entries(message.args)) {
    const text = typeof value === 'string' ? value : sentenceIn(value, table, language)
    if (text === undefined) return undefined
    values[name] = text
  }
  const made = formats.get(table) ?? new Map<string, IntlMessageFormat>()
  formats.set(table, made)
  const format = made.get(message.code) ?? new IntlMessageFormat(table[message.code]!, language)
  made.set(message.code, format)
  return String(format.format(values))
}
