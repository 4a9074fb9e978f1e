import type { QUANTITIES } from '../../app/contract/call.ts'

/** What a ring keeps of a reading. */
export type Quantities = 'raw' | 'resistance' | 'temperature'
/** What a person may look at. */
export type Shown = (typeof QUANTITIES)[number]

export const SHOWN_WORDS: Record<Shown, string> = {
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

/** Unit of what is shown; the raw unit depends on the instrument, and temperatures differ in millikelvin. */
export function unitOf(shown: Shown, rawUnit: string, difference = false): string {
  switch (shown) {
    case 'raw':
      return rawUnit
    case 'resistance':
      return 'ohm'
    case 'temperature':
      return difference ? 'mK' : 'degC'
    case 'deviation':
      return 'mK'
  }
}

export const ringQuantity = (shown: Shown): Quantities => (shown === 'deviation' ? 'temperature' : shown)

/** From a difference of what a ring keeps to the unit it is shown in. */
export const differenceScale = (shown: Shown): number => (ringQuantity(shown) === 'temperature' ? 1000 : 1)
