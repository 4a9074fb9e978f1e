import type { Bench, Channel } from '../records/bench.ts'
import { inForce, type Register } from '../records/register.ts'

/**
 * References of a bench that are standard platinum thermometers by their certificate: R(0.01 °C) tells of them, and of no other
 * kind, whether they have held through a night.
 */
export function standardReferences(
  { channels }: Pick<Bench, 'channels'>,
  { thermometers }: Pick<Register, 'thermometers'>,
  date: string,
): Channel[] {
  return channels.filter(({ enabled, role, thermometer }) => {
    const record = thermometers.find((t) => t.id === thermometer)
    const its90 = record && inForce(record.calibrations, date)?.conversion.kind === 'its90'
    return enabled && role === 'reference' && its90 === true
  })
}
