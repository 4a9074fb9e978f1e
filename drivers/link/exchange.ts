import type { Instant } from '../../app/base/clock.ts'

/** One question or order, ready to be sent, and what is to come back. */
export interface Request {
  /** The bytes as they go out: prefix, checksum and terminator included. */
  readonly bytes: string
  /** The instrument repeats the command before it answers: the first reply must be this. */
  readonly echo?: string | undefined
  /** The echo may be left out. */
  readonly echoMayFail?: boolean | undefined
  /** Replies to wait for; with a prompt, fewer is an error and more are joined. */
  readonly replies: number
  /** The token that ends the exchange. */
  readonly prompt?: string | undefined
  /** Longest silence before the first byte. */
  readonly firstByteMs: number
  /** Longest time from the first byte until the whole reply is there. */
  readonly replyMs: number
  /** An answer sooner than this cannot be to this question: the instrument has not done its work yet. Absent: any time. */
  readonly soonestMs?: number | undefined
  /** Sent as the bus's own trigger where the wire has one. */
  readonly trigger?: boolean | undefined
  /** Replies that are not meant are passed over: for questions whose answer is recognisable, after a timeout. */
  readonly accept?: ((reply: string) => boolean) | undefined
}

export type OutcomeKind = 'reply' | 'silent' | 'late' | 'garbled' | 'lost'

/** What came of one exchange. `text` holds whatever was received, replies joined by line feeds. */
export interface Outcome {
  readonly kind: OutcomeKind
  readonly text: string
  /** When the last byte arrived, or the deadline passed. */
  readonly at: Instant
  /** What was wrong, for the record. */
  readonly words?: string
  /** How long after the question an answer came that was refused as too soon, ms. */
  readonly tooSoonMs?: number
}

export interface Pace {
  /** Longest pause between two bytes of one reply. */
  readonly interByteMs: number
  /** How long after its deadline an answer may still come (and is then marked late). */
  readonly lateMs: number
  /** Least time between the end of one exchange and the next command. */
  readonly gapMs: number
}
