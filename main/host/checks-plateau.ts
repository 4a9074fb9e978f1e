import { sessionDate } from '../../app/comparison/analysis-channel.ts'
import { decisionsOf } from '../../app/comparison/analysis-input.ts'
import { buildChain } from '../../app/comparison/chain.ts'
import {
  type CellSaid,
  plateauOfRecord,
  type SessionPlateau,
} from '../../app/comparison/fixed-point-record.ts'
import { StationError } from '../station/station-error.ts'
import { findSession } from '../store/find-session.ts'
import { openSessionFile } from '../store/session-file.ts'

/** More readings of one channel than a week at one each second has. */
const MOST_READINGS = 700_000

/** Where a plateau was recorded. */
export interface PlateauPlace {
  /** Path of a session file, or an id within a data folder. */
  readonly session: string
  readonly channel: string
  readonly fromUtcUs?: number | undefined
  readonly toUtcUs?: number | undefined
}

/**
 * The plateau that a channel of a session recorded in a cell, through the records in force on the session's day with their
 * amendments. Throws StationError 'refused' where the session has no such channel; StoreError and ComparisonError.
 */
export function plateauOfSession(
  { session, channel: id, fromUtcUs, toUtcUs }: PlateauPlace,
  said: CellSaid,
  options: { rWtp?: number | undefined; dataFolder?: string | undefined } = {},
): SessionPlateau {
  const file = openSessionFile(findSession(session, options.dataFolder).path, { mode: 'read' })
  try {
    const { setup, leftOutReadings } = decisionsOf(file.setup, file.events())
    const { bench, register } = setup
    const channel = bench.channels.find((c) => c.id === id)
    if (!channel) {
      const known = bench.channels.map((c) => c.id).join(', ')
      throw new StationError('refused', `The session has no channel "${id}"; it has ${known}.`, {
        channel: id,
      })
    }
    const readings = file
      .readings({ channel: id, fromUtcUs, toUtcUs, most: MOST_READINGS })
      .filter(
        ({ seq }) => !leftOutReadings.some((l) => l.channel === id && seq >= l.fromSeq && seq <= l.toSeq),
      )
    return plateauOfRecord(
      {
        channel,
        chain: buildChain({ bench, register, date: sessionDate(file.info) }, channel),
        thermometer: register.thermometers.find((t) => t.id === channel.thermometer),
        readings,
      },
      said,
      options.rWtp,
    )
  } finally {
    file.close()
  }
}
