import type { ThermocoupleType } from './conversion.ts'
import type { KnownThermometer, ThermometerKind } from './kind.ts'

/** Letter of a thermocouple's reference function: as registered, or as its newest calibration has it. */
export function thermocoupleTypeOf({
  thermocoupleType,
  calibrations,
}: KnownThermometer): ThermocoupleType | undefined {
  if (thermocoupleType) return thermocoupleType
  const newest = calibrations.toSorted((a, b) => a.date.localeCompare(b.date)).at(-1)?.conversion
  return newest?.kind === 'thermocouple' ? newest.type : undefined
}

export const thermocouple: ThermometerKind = {
  name: 'Thermocouple',
  words: 'Thermocouple',
  signal: 'voltage',
  fit: 'thermocouple',
  conversions: ['thermocouple', 'polynomial', 'table'],
  nominal: (thermometer) => {
    const type = thermocoupleTypeOf(thermometer)
    return type && { kind: 'thermocouple', type }
  },
  nominalAtC: 0,
  slopeFromPoints: false,
  hasWtp: false,
  classes: null,
  template: 'thermocouple',
  fields: ['thermocoupleType'],
}
