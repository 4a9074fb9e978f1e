/** A refusal: a closed code that a program may switch over, the facts as fields, and a sentence that says what to do. */
export class CodedError<Code extends string> extends Error {
  readonly code: Code
  readonly facts: Readonly<Record<string, unknown>>

  constructor(code: Code, sentence: string, facts: Readonly<Record<string, unknown>> = {}, cause?: unknown) {
    super(sentence, cause === undefined ? undefined : { cause })
    this.name = new.target.name
    this.code = code
    this.facts = facts
  }
}
