import type { ChannelView, WaterState } from '../../app/contract/views.ts'
import { perKelvin } from '../../app/live/channel-unit.ts'
import type { Mark } from '../../app/records/mark.ts'
import {
  differenceScale,
  isDifference,
  lookOf,
  type Quantity,
  ringQuantity,
  type Sight,
  unitOf,
} from '../live/quantity.ts'

/** What a readout says beside its number. It changes seldom, and only then is it drawn anew. */
export interface ReadoutView {
  id: string
  name: string
  role: ChannelView['role']
  state: WaterState
  held: number
  /** Empty where the group or the sign says the same. */
  words: string
  marks: readonly Mark[]
  unit: string
  u: number | null
}

/** Parts of the hold time that the ripples show. */
const HELD_STEPS = 20

export function readoutView(
  channel: ChannelView,
  sight: Sight,
  base: ChannelView | undefined,
  groupWords: string,
): ReadoutView {
  const { id, name, role, settling, marks } = channel
  const u = shownU(channel, sight, base)
  return {
    id,
    name,
    role,
    state: settling.state,
    held: Math.round(settling.held * HELD_STEPS) / HELD_STEPS,
    // What is over says so by its sign.
    words: settling.words === groupWords || settling.state === 'over' ? '' : settling.words,
    marks,
    unit: unitOf(sight.shown, channel, isDifference(sight, id)),
    u: u === null ? null : Number(u.toPrecision(2)),
  }
}

/**
 * Standard uncertainty of what is shown, in its unit. That of a difference takes no account of what both channels share
 * (the bridge, the reference resistor), so it is rather too large than too small.
 */
export function shownU(channel: ChannelView, sight: Sight, base: ChannelView | undefined): number | null {
  const look = lookOf(sight.shown, channel.unit)
  if (!isDifference(sight, channel.id)) {
    const u = uOf(channel, look.quantity)
    return u === null || look.unit === undefined ? u : u * perKelvin(look.unit)
  }
  const quantity = ringQuantity(look.quantity)
  const own = uOf(channel, quantity)
  const other = base ? uOf(base, quantity) : null
  return own === null || other === null ? null : Math.hypot(own, other) * differenceScale(look.quantity)
}

/** Standard uncertainty of what is shown, in its unit. */
function uOf(channel: ChannelView, shown: Quantity): number | null {
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
