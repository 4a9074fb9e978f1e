import { IntlMessageFormat } from 'intl-messageformat'
import { z } from 'zod'
import { EVENT_MESSAGES } from './event-messages.ts'

export type MessageCode = keyof typeof EVENT_MESSAGES

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

type NamesIn<Pattern extends string> = Pattern extends `${string}{${infer Name}}${infer Rest}`
  ? Name | NamesIn<Rest>
  : never
export type ArgumentsOf<Code extends MessageCode> = Readonly<
  Record<NamesIn<(typeof EVENT_MESSAGES)[Code]>, string | Message>
>

/** Patterns by code: one language's table. */
export type MessageTable = Readonly<Record<string, string>>

const formats = new WeakMap<MessageTable, Map<string, IntlMessageFormat>>()

/** The sentence of a message in a language; undefined where the table does not have its code, or one within it. */
export function sentenceOf(
  message: Message,
  table: MessageTable = EVENT_MESSAGES,
  language = 'en',
): string | undefined {
  if (!Object.hasOwn(table, message.code)) return undefined
  const values: Record<string, string> = {}
  for (const [name, value] of Object.entries(message.args)) {
    const text = typeof value === 'string' ? value : sentenceOf(value, table, language)
    if (text === undefined) return undefined
    values[name] = text
  }
  const made = formats.get(table) ?? new Map<string, IntlMessageFormat>()
  formats.set(table, made)
  const format = made.get(message.code) ?? new IntlMessageFormat(table[message.code]!, language)
  made.set(message.code, format)
  return String(format.format(values))
}

/** A message of the program's own table, with its sentence. */
export function said<Code extends MessageCode>(code: Code, args: ArgumentsOf<Code>): Said {
  const kept = Object.fromEntries(
    Object.entries<string | Message>(args).map(([name, value]) => [
      name,
      typeof value === 'string' ? value : { code: value.code, args: value.args },
    ]),
  )
  return { code, args: kept, words: sentenceOf({ code, args: kept })! }
}

/** Name under which an event's data keeps its message. */
const KEPT_AS = 'said'

/** An event in the making: the message stands where the sentence and its place in the data will be. */
export interface ToTell<Kind extends string> {
  readonly kind: Kind
  readonly said: Said
  readonly who?: string
  /** Channel or instrument concerned, where one is. */
  readonly subject?: string | null
  readonly data?: Readonly<Record<string, unknown>>
}

/** What of an event is kept: the sentence a person reads, and in the data the message it was made of. */
export function eventOf<Kind extends string>({
  kind,
  said: { words, code, args },
  who = 'station',
  subject = null,
  data = {},
}: ToTell<Kind>) {
  return { kind, who, subject, words, data: { ...data, [KEPT_AS]: { code, args } } }
}

/** The message of an event; undefined for one of the time before messages, which is its sentence alone. */
export const messageIn = ({ data }: { data: Readonly<Record<string, unknown>> }): Message | undefined =>
  Message.safeParse(data[KEPT_AS]).data

/** An event's sentence in another language; as it was written where the table does not have it. */
export function wordsIn(
  event: { words: string; data: Readonly<Record<string, unknown>> },
  table: MessageTable,
  language: string,
): string {
  const message = messageIn(event)
  return (message && sentenceOf(message, table, language)) ?? event.words
}
