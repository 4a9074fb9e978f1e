import { ALARM_MESSAGES } from './alarm-messages.ts'
import { EVENT_MESSAGES } from './event-messages.ts'
import { Message, type MessageTable, type NamesIn, type Said, sentenceIn } from './message.ts'
import { CHECKS_REFUSALS } from './refusals/checks.ts'
import { DCC_REFUSALS } from './refusals/dcc.ts'
import { HOST_REFUSALS } from './refusals/host.ts'
import { RESULTS_REFUSALS } from './refusals/results.ts'
import { STATION_REFUSALS } from './refusals/station.ts'
import { STATISTICS_REFUSALS } from './refusals/statistics.ts'
import { STORE_REFUSALS } from './refusals/store.ts'
import { STUDY_REFUSALS } from './refusals/study.ts'
import { THERMOMETRY_REFUSALS } from './refusals/thermometry.ts'
import { WIRE_REFUSALS } from './refusals/wire.ts'

export { Message, type Said } from './message.ts'

/** Tables of the program's own sentences, each code in one of them. */
export const TABLES = [
  EVENT_MESSAGES,
  ALARM_MESSAGES,
  STATISTICS_REFUSALS,
  THERMOMETRY_REFUSALS,
  CHECKS_REFUSALS,
  DCC_REFUSALS,
  RESULTS_REFUSALS,
  WIRE_REFUSALS,
  STORE_REFUSALS,
  STATION_REFUSALS,
  STUDY_REFUSALS,
  HOST_REFUSALS,
] as const

/** The program's own sentences: what the record says, and what is refused. A code once written stays: records name it. */
export const MESSAGES = {
  ...EVENT_MESSAGES,
  ...ALARM_MESSAGES,
  ...STATISTICS_REFUSALS,
  ...THERMOMETRY_REFUSALS,
  ...CHECKS_REFUSALS,
  ...DCC_REFUSALS,
  ...RESULTS_REFUSALS,
  ...WIRE_REFUSALS,
  ...STORE_REFUSALS,
  ...STATION_REFUSALS,
  ...STUDY_REFUSALS,
  ...HOST_REFUSALS,
}

export type MessageCode = keyof typeof MESSAGES
export type ArgumentsOf<Code extends MessageCode> = Readonly<
  Record<NamesIn<(typeof MESSAGES)[Code]>, string | number | Message>
>

/** The sentence of a message in a language; undefined where the table does not have its code, or one within it. */
export const sentenceOf = (
  message: Message,
  table: MessageTable = MESSAGES,
  language = 'en',
): string | undefined => sentenceIn(message, table, language)

/** A message without its sentence. */
export const bare = ({ code, args }: Message): Message => ({ code, args })

/** What somebody else has said, as it stands: an instrument, an operating system, a library. No language changes it. */
export const asTold = (words: string): Said => said('as-told', { words })

/** A message of the program's own tables, with its sentence. */
export function said<Code extends MessageCode>(code: Code, args: ArgumentsOf<Code>): Said {
  const kept = Object.fromEntries(
    Object.entries<string | number | Message>(args).map(([name, value]) => [
      name,
      typeof value === 'object' ? bare(value) : String(value),
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

/** What an event said, to be said again by another. */
export const saidOf = (event: { words: string; data: Readonly<Record<string, unknown>> }): Said => {
  const message = messageIn(event)
  return message ? { ...message, words: event.words } : asTold(event.words)
}

/** An event's sentence in another language; as it was written where the table does not have it. */
export function wordsIn(
  event: { words: string; data: Readonly<Record<string, unknown>> },
  table: MessageTable,
  language: string,
): string {
  const message = messageIn(event)
  return (message && sentenceOf(message, table, language)) ?? event.words
}
