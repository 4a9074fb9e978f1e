import { kindOf } from '../kinds/table.ts'
import type { Thermometer } from '../records/register.ts'

/**
 * Self-heating by the register's figure, mK, for a current and a resistance:
 *
 *   dt = dt0 (I / I0)^2 R / R0
 *
 * Symbols: dt0 the register's figure at the current I0 and the nominal resistance R0; R the resistance at the temperature
 * measured. The power I^2 R warms the element through a dissipation constant that is taken to be the same everywhere.
 * `nominalOhm` stands in where the register states no nominal resistance. Source: common practice, no source.
 */
export function registeredHeatingMk(
  thermometer: Pick<Thermometer, 'kind' | 'selfHeatingMk' | 'currentMa' | 'nominalOhm'>,
  currentMa: number,
  ohm: number,
  nominalOhm: (celsius: number) => number,
): number {
  const stated = thermometer.selfHeatingMk ?? 0
  if (stated === 0) return 0
  const nominal = thermometer.nominalOhm ?? nominalOhm(kindOf(thermometer).nominalAtC)
  const byResistance = nominal > 0 && Number.isFinite(ohm) ? ohm / nominal : 1
  return stated * (currentMa / thermometer.currentMa) ** 2 * byResistance
}
