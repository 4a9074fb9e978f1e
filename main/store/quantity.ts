import { buildChains, type Chain } from '../../app/live/chain.ts'
import { said } from '../../app/messages/said.ts'
import type { RawUnit } from '../../app/records/reading.ts'
import { sessionDate } from '../../app/results/analysis-channel.ts'
import { StoreError } from './errors.ts'
import type { SessionFile } from './session-file.ts'

export type Quantity = 'raw' | 'resistance' | 'temperature' | 'deviation'

/** How a channel's raw numbers become the quantity wanted. */
export interface Scale {
  /** The quantity of a raw number at a time; unit and current are those of the channel's first reading where left out. */
  of(raw: number, utcUs: number, unit?: RawUnit, currentMa?: number | null): number
  unit: string
}

/** The chains of a session's own register. */
export const chainsOf = (file: SessionFile): ReadonlyMap<string, Chain> =>
  buildChains({ bench: file.setup.bench, register: file.setup.register, date: sessionDate(file.info) })

/** From a channel's raw numbers to the quantity wanted. Throws StoreError 'not-found' for a channel without a chain. */
export function scaleOf(
  file: SessionFile,
  chain: Chain | undefined,
  channel: string,
  quantity: Quantity,
): Scale {
  const [sample] = file.readings({ channel, most: 1 })
  const firstUnit = sample?.unit ?? 'ratio'
  if (quantity === 'raw') return { of: (raw) => raw, unit: firstUnit }
  if (!chain) throw new StoreError('not-found', said('no-such-channel', { channel }), { channel })
  const firstCurrentMa = sample?.currentMa ?? null
  const convert = (raw: number, unit: RawUnit = firstUnit, currentMa: number | null = firstCurrentMa) =>
    chain.convert(raw, unit, currentMa)
  if (quantity === 'resistance')
    return {
      of: (raw, _, unit, currentMa) => convert(raw, unit, currentMa).signal,
      unit: chain.signalUnit === 'none' ? '' : chain.signalUnit,
    }
  if (quantity === 'temperature')
    return { of: (raw, _, unit, currentMa) => convert(raw, unit, currentMa).celsius, unit: 'degC' }
  const steps = file
    .events({ kinds: ['setpoint'] })
    .map(({ utcUs, data }) => ({ utcUs, celsius: Number(data.celsius) }))
    .filter(({ celsius }) => Number.isFinite(celsius))
  const setpointAt = (utcUs: number) => steps.findLast((step) => step.utcUs <= utcUs)?.celsius ?? Number.NaN
  return {
    of: (raw, utcUs, unit, currentMa) => (convert(raw, unit, currentMa).celsius - setpointAt(utcUs)) * 1000,
    unit: 'mK',
  }
}
