import type { ChannelView, WaterState } from '../../app/contract/views.ts'
import type { Mark } from '../../app/records/mark.ts'
import { type Shown, unitOf } from '../live/quantity.ts'

/** What a readout says beside its number. It changes seldom, and only then is it drawn anew. */
export interface ReadoutView {
  id: string
  name: string
  role: ChannelView['role']
  state: WaterState
  held: number
  /** Empty where the group says the same. */
  words: string
  marks: readonly Mark[]
  unit: string
  u: number | null
}

/** Parts of the hold time that the ripples show. */
const HELD_STEPS = 20

export function readoutView(channel: ChannelView, shown: Shown, groupWords: string): ReadoutView {
  const { id, name, role, settling, marks, rawUnit } = channel
  const u = uOf(channel, shown)
  return {
    id,
    name,
    role,
    state: settling.state,
    held: Math.round(settling.held * HELD_STEPS) / HELD_STEPS,
    words: settling.words === groupWords ? '' : settling.words,
    marks,
    unit: unitOf(shown, rawUnit),
    u: u === null ? null : Number(u.toPrecision(2)),
  }
}

/** Standard uncertainty of what is shown, in its unit. */
export function uOf(channel: ChannelView, shown: Shown): number | null {
  switch (shown) {
    case 'raw':
      return channel.rawUnit === 'ratio' ? channel.ratio.u : null
    case 'resistance':
      return channel.resistance.u
    case 'temperature':
      return channel.temperature.u
    case 'deviation':
      return channel.temperature.u === null ? null : channel.temperature.u * 1000
  }
}
