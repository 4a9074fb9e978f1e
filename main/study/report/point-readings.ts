import type { Point, PointReadings } from '../../../app/records/point.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { SessionFile } from '../../store/session-file.ts'

/** Stretches of a channel that a person has left out since. */
export type LeftOut = readonly {
  readonly channel: string
  readonly fromSeq: number
  readonly toSeq: number
}[]

/** The readings of one part of a point in the order of time, without the stretches left out. */
export function readingsIn(
  session: SessionFile,
  lists: readonly PointReadings[],
  part: PointReadings['part'],
  leftOut: LeftOut = [],
): Reading[] {
  return lists
    .filter((list) => list.part === part)
    .flatMap(({ channel, fromSeq, toSeq }) =>
      session.readings({ channel, fromSeq, toSeq, most: toSeq - fromSeq + 1 }),
    )
    .filter((r) => !leftOut.some((l) => l.channel === r.channel && r.seq >= l.fromSeq && r.seq <= l.toSeq))
    .sort((a, b) => a.monoUs - b.monoUs || a.seq - b.seq)
}

/** Whether a stretch that was left out touches what made a point. */
export function touches(point: Point, leftOut: LeftOut): boolean {
  const own = point.readings ?? point.channels.map((c) => ({ ...c, fromSeq: c.firstSeq, toSeq: c.lastSeq }))
  return leftOut.some((l) =>
    own.some((o) => o.channel === l.channel && o.fromSeq <= l.toSeq && o.toSeq >= l.fromSeq),
  )
}
