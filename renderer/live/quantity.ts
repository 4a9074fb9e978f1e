import type { QUANTITIES } from '../../app/contract/index.ts'

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

/** Unit of what is shown; the raw unit depends on the instrument. */
export function unitOf(shown: Shown, rawUnit: string): string {
  switch (shown) {
    case 'raw':
      return rawUnit
    case 'resistance':
      return 'ohm'
    case 'temperature':
      return 'degC'
    case 'deviation':
      return 'mK'
  }
}

export const ringQuantity = (shown: Shown): Quantities => (shown === 'deviation' ? 'temperature' : shown)
