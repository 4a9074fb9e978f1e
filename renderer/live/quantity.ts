import type { QUANTITIES } from '../../app/contract/call.ts'
import type { ChannelView } from '../../app/contract/views.ts'
import { type ChannelUnit, celsiusAs, perKelvin, quantityOfUnit } from '../../app/live/channel-unit.ts'

/** What a ring keeps of a reading. */
export type Quantities = 'raw' | 'resistance' | 'temperature'
export type Quantity = (typeof QUANTITIES)[number]
/** What a person may look at: one quantity of every channel, or each in the unit that the bench gives it. */
export type Shown = Quantity | 'own'

export const SHOWN_WORDS: Record<Shown, string> = {
  own: 'Own unit',
  raw: 'Raw',
  resistance: 'Resistance',
  temperature: 'Temperature',
  deviation: 'Deviation from setpoint',
}

/** What a person looks at: a quantity, or by how much it differs from that of another channel. */
export interface Sight {
  shown: Shown
  /** Channel taken off the others; null: none. */
  base: string | null
}

/** Whether a channel is shown as a difference; the base itself never is. */
export const isDifference = ({ base }: Sight, channel: string): boolean => base !== null && base !== channel

/** What of one channel is looked at, and the unit where it is its own. */
export interface Look {
  quantity: Quantity
  unit: ChannelUnit | undefined
}

export function lookOf(shown: Shown, own: ChannelUnit | null | undefined): Look {
  if (shown !== 'own') return { quantity: shown, unit: undefined }
  return own ? { quantity: quantityOfUnit(own), unit: own } : { quantity: 'raw', unit: undefined }
}

/** What a ring or the record keeps, as it is shown. */
export const inUnit = (value: number, { quantity, unit }: Look): number =>
  quantity === 'temperature' && unit !== undefined ? celsiusAs(value, unit) : value

/** What the unit of a channel's numbers depends on. */
export type Units = Pick<ChannelView, 'rawUnit' | 'unit'> & {
  resistance: Pick<ChannelView['resistance'], 'unit'>
}

/** Unit of what is shown; the raw unit depends on the instrument, and temperatures differ in millikelvin. */
export function unitOf(shown: Shown, { rawUnit, unit, resistance }: Units, difference = false): string {
  const look = lookOf(shown, unit)
  switch (look.quantity) {
    case 'raw':
      return rawUnit
    case 'resistance':
      return resistance.unit || 'ohm'
    case 'temperature':
      return difference ? 'mK' : (look.unit ?? 'degC')
    case 'deviation':
      return 'mK'
  }
}

export const ringQuantity = (quantity: Quantity): Quantities =>
  quantity === 'deviation' ? 'temperature' : quantity

/** From a difference of what a ring keeps to the unit it is shown in. */
export const differenceScale = (quantity: Quantity): number =>
  ringQuantity(quantity) === 'temperature' ? 1000 : 1

/** A channel as it stands, in the unit that its bench gives it. */
export function ownOf({ unit, ratio, resistance, temperature }: ChannelView): ChannelView['ratio'] {
  const look = lookOf('own', unit)
  if (look.quantity === 'resistance') return resistance
  if (look.quantity === 'raw' || look.unit === undefined) return ratio
  const { value, u } = temperature
  return {
    value: value === null ? null : celsiusAs(value, look.unit),
    u: u === null ? null : u * perKelvin(look.unit),
    unit: look.unit,
  }
}
