import type { CellRecord } from '../../app/checks/fixed-point-record.ts'
import { buildChain } from '../../app/live/chain.ts'
import { said } from '../../app/messages/said.ts'
import type { Channel } from '../../app/records/bench.ts'
import { sessionDate } from '../../app/results/analysis-channel.ts'
import { decisionsOf } from '../../app/results/analysis-input.ts'
import type { SessionFile } from '../store/session-file.ts'
import { StationError } from './station-error.ts'

/** More readings of one channel than a week at one each second has. */
const MOST_READINGS = 700_000

/** Channel and stretch of a session that a cell was recorded in. */
export interface CellStretch {
  readonly channel: string
  readonly fromUtcUs?: number | undefined
  readonly toUtcUs?: number | undefined
}

/**
 * What a channel of a session recorded, with the records in force on the session's day and their amendments. Throws
 * StationError 'refused' where the session has no such channel; StoreError.
 */
export function cellRecordIn(
  file: SessionFile,
  { channel: id, fromUtcUs, toUtcUs }: CellStretch,
): CellRecord {
  const { setup, leftOutReadings } = decisionsOf(
    file.setup,
    file.events({ kinds: ['amendment', 'decision'] }),
  )
  const { bench, register } = setup
  const channel = bench.channels.find((c) => c.id === id)
  if (!channel) {
    const known = bench.channels.map((c) => c.id).join(', ')
    throw new StationError('refused', said('session-without-channel', { id, known }), {
      channel: id,
    })
  }
  const sourceOf = (own: Channel) => ({
    channel: own,
    chain: buildChain({ bench, register, date: sessionDate(file.info) }, own),
    readings: file
      .readings({ channel: own.id, fromUtcUs, toUtcUs, most: MOST_READINGS })
      .filter(
        ({ seq }) => !leftOutReadings.some((l) => l.channel === own.id && seq >= l.fromSeq && seq <= l.toSeq),
      ),
  })
  const beside = bench.channels.filter(
    (c) =>
      c.id !== id &&
      c.enabled &&
      c.thermometer !== undefined &&
      c.thermometer === channel.thermometer &&
      c.currentMa !== channel.currentMa,
  )
  return {
    ...sourceOf(channel),
    thermometer: register.thermometers.find((t) => t.id === channel.thermometer),
    bridge: bench.instruments.find((i) => i.id === channel.instrument)?.register,
    beside: beside.map(sourceOf),
  }
}
