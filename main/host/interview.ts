import { createInterface } from 'node:readline'

/** What came of an answer: a value, or a sentence that says what would be one. */
export type Taken<T> = { readonly value: T } | { readonly problem: string }

/** Ended before all was asked. */
export class InterviewEnded extends Error {}

/** Asks a person one question after the other, on a terminal or from a pipe, and asks again where an answer will not do. */
export class Interview {
  readonly #lines: AsyncIterator<string>
  readonly #close: () => void
  readonly #say: (text: string) => void

  constructor(input: NodeJS.ReadableStream, say: (text: string) => void) {
    const lines = createInterface({ input })
    this.#lines = lines[Symbol.asyncIterator]()
    this.#close = () => lines.close()
    this.#say = say
  }

  close(): void {
    this.#close()
  }

  /** Says something that needs no answer. */
  tell(words: string): void {
    this.#say(`${words}\n`)
  }

  /** Asks until `take` accepts the answer. An empty line stands for what is usual, where something is. */
  async ask<T>(words: string, take: (answer: string) => Taken<T>, usual?: string): Promise<T> {
    for (;;) {
      this.#say(`${words}${usual === undefined ? '' : ` [${usual}]`}: `)
      const { value: line, done } = await this.#lines.next()
      if (done === true) throw new InterviewEnded(`The answers ended at: ${words}`)
      const answer = String(line)
      const taken = take(answer.trim() === '' && usual !== undefined ? usual : answer)
      if ('value' in taken) return taken.value
      this.#say(`${taken.problem}\n`)
    }
  }

  /** One of several, by its number. */
  async choose<T>(words: string, choices: readonly (readonly [name: string, value: T])[]): Promise<T> {
    const list = choices.map(([name], i) => `  ${i + 1}  ${name}`).join('\n')
    const take = (answer: string): Taken<T> => {
      const choice = choices[Number(answer) - 1]
      return choice === undefined
        ? { problem: `Type a number from 1 to ${choices.length}.` }
        : { value: choice[1] }
    }
    return this.ask(`${words}\n${list}\nNumber`, take, '1')
  }

  /** A text of a line, blanks at its ends taken off; `undefined` for a bare hyphen where it may be left out. */
  text(words: string, usual?: string): Promise<string> {
    const take = (answer: string): Taken<string> =>
      answer.trim() === '' ? { problem: 'Type something.' } : { value: answer.trim() }
    return this.ask(words, take, usual)
  }

  number(words: string, { low = -1e9, high = 1e9, whole = false } = {}, usual?: string): Promise<number> {
    const take = (answer: string): Taken<number> => {
      const number = Number(answer.trim())
      const good =
        answer.trim() !== '' && number >= low && number <= high && (!whole || Number.isInteger(number))
      return good
        ? { value: number }
        : { problem: `Type a ${whole ? 'whole ' : ''}number from ${low} to ${high}.` }
    }
    return this.ask(words, take, usual)
  }
}
