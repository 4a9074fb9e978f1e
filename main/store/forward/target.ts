import type { Point } from '../../../app/records/point.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { SessionEvent, SessionInfo } from '../../../app/records/session.ts'

/** What is sent on in one go: a stretch of one session, in the order it was committed. */
export interface Parcel {
  session: SessionInfo
  readings: readonly Reading[]
  events: readonly SessionEvent[]
  /** With their running number within the session, from 1. */
  points: readonly { n: number; point: Point }[]
}

/** Another place that gets a copy. */
export interface ForwardTarget {
  /** Resolves once the other side has the parcel for good. A parcel may come twice after a break: it counts once. */
  send(parcel: Parcel): Promise<void>
  close(): Promise<void>
}
