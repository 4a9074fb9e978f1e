import type { Analysis, AnalysisOptions } from '../../../app/comparison/analysis.ts'
import { analyse } from '../../../app/comparison/analysis.ts'
import { sessionDate } from '../../../app/comparison/analysis-channel.ts'
import { type AnalysisInput, decisionsOf } from '../../../app/comparison/analysis-input.ts'
import { buildChains, type Chain } from '../../../app/comparison/chain.ts'
import { buildPoint } from '../../../app/comparison/point.ts'
import type { Point, PointChannel } from '../../../app/records/point.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { SessionFile } from '../../store/session-file.ts'

/** More readings than any point has. */
const MOST_OF_A_POINT = 200_000

type LeftOut = readonly { readonly channel: string; readonly fromSeq: number; readonly toSeq: number }[]

/** Readings of a point in the order of time, at the channels' own currents, without the stretches left out. */
function readingsOf(session: SessionFile, point: Point, leftOut: LeftOut): Reading[] {
  const outside = (r: Reading) =>
    !leftOut.some((l) => l.channel === r.channel && r.seq >= l.fromSeq && r.seq <= l.toSeq)
  return point.channels
    .flatMap(({ channel }) =>
      session.readings({
        channel,
        fromUtcUs: point.startUtcUs,
        toUtcUs: point.endUtcUs,
        most: MOST_OF_A_POINT,
      }),
    )
    .filter(outside)
    .sort((a, b) => a.monoUs - b.monoUs)
}

/** What a pair of currents gave stays as it was recorded: its readings were taken after the point's own. */
function withPair(rebuilt: PointChannel, stored: PointChannel | undefined): PointChannel {
  if (!stored || stored.selfHeatingMk === null) return rebuilt
  const { selfHeatingMk, uSelfHeatingMk, signalZeroCurrent, t90C } = stored
  return { ...rebuilt, selfHeatingMk, uSelfHeatingMk, signalZeroCurrent, t90C }
}

/** A point made again from its readings, through the same chains. */
export function rebuildPoint(
  session: SessionFile,
  chains: ReadonlyMap<string, Chain>,
  stored: Point,
  leftOut: LeftOut = [],
): Point | null {
  const readings = readingsOf(session, stored, leftOut)
  if (readings.length === 0) return null
  const { startUtcUs: _start, endUtcUs: _end, channels, ...head } = stored
  const rebuilt = buildPoint({ bench: session.setup.bench, chains, readings }, head)
  return {
    ...rebuilt,
    startUtcUs: stored.startUtcUs,
    endUtcUs: stored.endUtcUs,
    channels: rebuilt.channels.map((c) =>
      withPair(
        c,
        channels.find((s) => s.channel === c.channel),
      ),
    ),
  }
}

/** The chains through which a session's points were made: its own setup on its own day. */
export function sessionChains(session: SessionFile): ReadonlyMap<string, Chain> {
  const { bench, register } = session.setup
  return buildChains({ bench, register, date: sessionDate(session.info) })
}

/**
 * What the analysis needs of a session file. Points are as stored; where a person has left readings out since, those
 * that hold them are made again without them.
 */
export function sessionContent(session: SessionFile): AnalysisInput {
  const { info, setup } = session
  const events = session.events()
  const { leftOutReadings } = decisionsOf(setup, events)
  const touched = (point: Point) =>
    leftOutReadings.some((l) =>
      point.channels.some((c) => c.channel === l.channel && c.firstSeq <= l.toSeq && c.lastSeq >= l.fromSeq),
    )
  const chains = leftOutReadings.length > 0 ? sessionChains(session) : null
  const points = session.points().flatMap((point) => {
    if (!chains || !touched(point)) return [point]
    const rebuilt = rebuildPoint(session, chains, point, leftOutReadings)
    return rebuilt ? [rebuilt] : []
  })
  return { info, setup, points, events }
}

/** A session's results, from its file alone. */
export function analyseSession(session: SessionFile, options: Partial<AnalysisOptions> = {}): Analysis {
  return analyse({ ...sessionContent(session), options })
}
