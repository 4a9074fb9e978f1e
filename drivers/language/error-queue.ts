import { readString } from './strings.ts'

/** One entry of an instrument's error queue. */
export interface QueuedError {
  readonly number: number
  readonly text: string
}

/** Longest queue that is read: an instrument that repeats an error for ever must not hold the link. */
const LONGEST_QUEUE = 20

/**
 * Reads the reply to SYSTem:ERRor?, `number,"text"`; undefined when it is not one. `0`, `+0` and `-000` all mean none.
 *
 * Source  SCPI-99 volume 2, 21.8, from memory.
 */
export function readQueuedError(reply: string): QueuedError | undefined {
  const match = /^\s*([+-]?\d+)\s*(?:,\s*(.*))?$/s.exec(reply)
  if (match === null) return undefined
  const quoted = match[2]?.trim() ?? ''
  const number = Number(match[1])
  return { number: number === 0 ? 0 : number, text: readString(quoted) ?? quoted }
}

function tellError({ number, text }: QueuedError): string {
  const meaning = EXCHANGE_ERRORS[number]
  return `${number} ${text}`.trim() + (meaning === undefined ? '' : ` (${meaning})`)
}

/** Whether an entry says that the instrument was switched on (-500 to -599). */
export function saysPowerOn(error: QueuedError): boolean {
  return error.number <= -500 && error.number > -600
}

/**
 * Asks until the queue is empty, at most LONGEST_QUEUE times. `ask` gives one reply, or undefined when none came; a
 * reply that cannot be read ends the asking.
 */
export async function readErrorQueue(ask: () => Promise<string | undefined>): Promise<QueuedError[]> {
  const errors: QueuedError[] = []
  for (let i = 0; i < LONGEST_QUEUE; i++) {
    const reply = await ask()
    const error = reply === undefined ? undefined : readQueuedError(reply)
    if (error === undefined || error.number === 0) break
    errors.push(error)
  }
  return errors
}

/**
 * What the errors of the message exchange mean for whoever looks for the cause: the instrument was spoken to out of turn.
 *
 * Source  IEEE Std 488.2-1992, 6.3.2 (interrupted, unterminated, deadlocked), SCPI-99 volume 2, 21.8.8 (numbers), from memory.
 */
const EXCHANGE_ERRORS: Readonly<Record<number, string>> = {
  [-410]: 'a line came before the answer to the one before had been read',
  [-420]: 'an answer was read that nothing had asked for',
  [-430]: 'line and answer were both too long to be held',
  [-440]: 'a question came after one whose answer has no end',
}

/** The errors as one sentence for the record. */
export function tellErrors(errors: readonly QueuedError[]): string {
  const told = errors.map(tellError).join('; ')
  return errors.length >= LONGEST_QUEUE ? `${told}; and more` : told
}
