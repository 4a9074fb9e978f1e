import type { Point } from '../../../app/records/point.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { SessionEvent, SessionInfo } from '../../../app/records/session.ts'

/** What is sent on in one go: a stretch of one session, in the order it was committed. */
export interface Parcel {
  /** UUID of the station that the session is of. */
  station: string
  session: SessionInfo
  readings: readonly Reading[]
  events: readonly SessionEvent[]
  /** With their running number within the session, from 1. */
  points: readonly { n: number; point: Point }[]
}

/** How far into a session: the last reading, event and point meant. */
export interface Reach {
  seq: number
  event: number
  point: number
}

/** A part of a session, by numbers: after one reach, up to another. */
export interface Part {
  station: string
  session: string
  after: Reach
  upTo: Reach
}

/** The other place holds something else under the numbers of ours: nothing of that is written over. */
export class OtherRecord extends Error {
  override readonly name = 'OtherRecord'
}

/** Another place that gets a copy. */
export interface ForwardTarget {
  /**
   * Resolves once the other side has the parcel for good. A parcel may come twice after a break: it counts once. Throws
   * OtherRecord where the other side has something else under the same numbers.
   */
  send(parcel: Parcel): Promise<void>
  /** How many readings, events and points of a part the other side has for good; undefined where it cannot count. */
  count(part: Part): Promise<Reach | undefined>
  /** Lets go in order. */
  close(): Promise<void>
  /** Lets go at once, where the other side does not answer: whatever is under way fails. */
  abandon(): void
}
