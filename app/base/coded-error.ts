import { asTold, bare, type Message, type Said } from '../messages/said.ts'

/**
 * A refusal: a closed code that a program may switch over, the facts as fields, and a sentence that says what to do, with the
 * message it was made of.
 */
export class CodedError<Code extends string> extends Error {
  readonly code: Code
  readonly said: Message
  readonly facts: Readonly<Record<string, unknown>>

  constructor(code: Code, said: Said, facts: Readonly<Record<string, unknown>> = {}, cause?: unknown) {
    super(said.words, cause === undefined ? undefined : { cause })
    this.name = new.target.name
    this.code = code
    this.said = bare(said)
    this.facts = facts
  }
}

/** What a refusal said, to be said again by another. */
export const saidBy = ({ said, message }: CodedError<string>): Said => ({ ...said, words: message })

/** What any fault said: a refusal its message, anything else the words it came with. */
export const saidByAny = (fault: unknown): Said => {
  if (fault instanceof CodedError) return saidBy(fault)
  return asTold(fault instanceof Error ? fault.message : String(fault))
}
