import { entryOf } from '../../../app/base/lists.ts'
import { buildChains, type Chain } from '../../../app/live/chain.ts'
import { buildPoint } from '../../../app/live/point.ts'
import type { Point, PointChannel } from '../../../app/records/point.ts'
import type { Register } from '../../../app/records/register.ts'
import type { SessionEvent } from '../../../app/records/session.ts'
import type { Analysis, AnalysisOptions } from '../../../app/results/analysis.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { sessionDate } from '../../../app/results/analysis-channel.ts'
import { type AnalysisInput, decisionsOf } from '../../../app/results/analysis-input.ts'
import type { SessionFile } from '../../store/session-file.ts'
import { type MadeOf, olderReadings } from './older-readings.ts'
import { type LeftOut, readingsIn, touches } from './point-readings.ts'

/**
 * A pair whose readings are not in the file, or cannot be told from others: what the current added to the signal is kept
 * as it was recorded, as a part of the signal, and goes through the chain anew.
 */
function withPair(rebuilt: PointChannel, stored: PointChannel | undefined, chain: Chain): PointChannel {
  if (!stored || stored.selfHeatingMk === null || rebuilt.selfHeatingMk !== null) return rebuilt
  const { signal } = rebuilt
  if (signal === null || stored.signal === null || stored.signalZeroCurrent === null) return rebuilt
  const signalZeroCurrent = stored.signalZeroCurrent * (signal / stored.signal)
  const t90C = chain.atZeroCurrent ? chain.celsiusOfSignal(signalZeroCurrent, 0) : rebuilt.t90C
  const slope = chain.slopeAt(t90C ?? rebuilt.referenceC ?? Number.NaN)
  const selfHeatingMk = ((signal - signalZeroCurrent) / slope) * 1e3
  if (!Number.isFinite(selfHeatingMk)) return rebuilt
  const uSelfHeatingMk =
    stored.uSelfHeatingMk === null
      ? null
      : stored.uSelfHeatingMk * Math.abs(selfHeatingMk / stored.selfHeatingMk)
  return { ...rebuilt, selfHeatingMk, uSelfHeatingMk, signalZeroCurrent, t90C: chain.nominal ? null : t90C }
}

/** A point made again from its readings, through the same chains or others; null where none of them is left. */
export function rebuildPoint(
  session: SessionFile,
  chains: ReadonlyMap<string, Chain>,
  stored: Point,
  leftOut: LeftOut = [],
): Point | null {
  const { lists } = madeOf(session, stored)
  const readings = readingsIn(session, lists, 'order', leftOut)
  if (readings.length === 0) return null
  const { startUtcUs, endUtcUs, channels, ...head } = stored
  const pairs = readingsIn(session, lists, 'pair', leftOut)
  const { bench } = session.setup
  const rebuilt = buildPoint({ bench, chains, readings, ...(pairs.length > 0 && { pairs }) }, head)
  return {
    ...rebuilt,
    // What was left out since does not change when the point was taken.
    ...(leftOut.length > 0 && { startUtcUs, endUtcUs }),
    ...(stored.readings === undefined && {
      startUtcUs,
      endUtcUs,
      channels: rebuilt.channels.map((c) =>
        withPair(
          c,
          channels.find((s) => s.channel === c.channel),
          entryOf(chains, c.channel),
        ),
      ),
    }),
  }
}

function madeOf(session: SessionFile, point: Point): MadeOf {
  if (point.readings) return { lists: point.readings, doubtful: [] }
  return olderReadings(session, point, sessionChains(session))
}

/**
 * What of a session's points may come out otherwise when they are made again, in words: a session of a form before 4 does
 * not say which readings made them. Empty where nothing may.
 */
export function rebuildDoubts(session: SessionFile): string[] {
  return session.points().flatMap((point) => {
    const { doubtful } = madeOf(session, point)
    if (doubtful.length === 0) return []
    return [
      `${point.id}: which readings of ${doubtful.join(', ')} made it was not kept by the program that took it, and no choice of them gives back what it stored. Made again, its numbers may differ.`,
    ]
  })
}

/** The chains through which a session's points were made: its own setup on its own day. */
export function sessionChains(session: SessionFile): ReadonlyMap<string, Chain> {
  return chainsWith(session, session.setup.register)
}

function chainsWith(session: SessionFile, register: Register): ReadonlyMap<string, Chain> {
  return buildChains({ bench: session.setup.bench, register, date: sessionDate(session.info) })
}

/**
 * What the analysis needs of a session file. Points are as stored; those that hold readings which a person has left out
 * since are made again without them, and all of them are made again where an amendment brought other records.
 */
export function sessionContent(
  session: SessionFile,
  events: readonly SessionEvent[] = session.events(),
): AnalysisInput {
  const { info, setup } = session
  const { leftOutReadings, setup: current } = decisionsOf(setup, events)
  const isAmended = current.register !== setup.register
  const touched = (point: Point) => isAmended || touches(point, leftOutReadings)
  const chains = isAmended || leftOutReadings.length > 0 ? chainsWith(session, current.register) : undefined
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
