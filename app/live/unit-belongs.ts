import type { RawUnit } from '../records/reading.ts'
import type { Thermometer } from '../records/register.ts'

/**
 * Whether a reading in this unit can be of such a thermometer: a resistance is no voltage, whatever its size. A thermometer
 * of another kind (a transmitter, say) may be read either way. A temperature sent as such is taken as it is.
 */
export function unitBelongs(kind: Thermometer['kind'] | undefined, unit: RawUnit): boolean {
  if (kind === undefined || kind === 'other') return true
  if (unit === 'mV' || unit === 'V') return kind === 'thermocouple'
  if (unit === 'ohm' || unit === 'ratio') return kind !== 'thermocouple'
  return true
}
