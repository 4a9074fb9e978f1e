import type { RunnerView } from '../../app/contract/views.ts'
import { said } from '../../app/messages/said.ts'
import { StationError } from './station-error.ts'

export interface Answer {
  readonly choice: string
  readonly who: string
}

type Question = NonNullable<RunnerView['question']>

/** What the station asks a person, one thing at a time. */
export class Questions {
  readonly #onChange: () => void
  #open: (Question & { resolve(answer: Answer): void }) | undefined
  #count = 0

  constructor(onChange: () => void) {
    this.#onChange = onChange
  }

  get open(): Question | null {
    return this.#open ? { id: this.#open.id, words: this.#open.words, choices: this.#open.choices } : null
  }

  /** Resolves with the answer; rejects when the signal is aborted. */
  ask(words: string, choices: string[], signal: AbortSignal): Promise<Answer> {
    this.#count += 1
    const id = `question-${this.#count}`
    return new Promise((resolve, reject) => {
      const onAbort = () => {
        this.#open = undefined
        this.#onChange()
        reject(signal.reason)
      }
      if (signal.aborted) {
        reject(signal.reason)
        return
      }
      signal.addEventListener('abort', onAbort, { once: true })
      this.#open = {
        id,
        words,
        choices,
        resolve: (answer) => {
          signal.removeEventListener('abort', onAbort)
          this.#open = undefined
          this.#onChange()
          resolve(answer)
        },
      }
      this.#onChange()
    })
  }

  answer(id: string, choice: string, who: string): void {
    const open = this.#open
    if (open?.id !== id) {
      throw new StationError('no-such-question', said('question-not-open', {}), { id })
    }
    if (!open.choices.includes(choice)) {
      throw new StationError(
        'refused',
        said('no-such-answer', { choice, choices: open.choices.join(', ') }),
        {
          id,
          choice,
        },
      )
    }
    open.resolve({ choice, who })
  }
}
