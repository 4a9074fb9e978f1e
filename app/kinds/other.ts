import type { ThermometerKind } from './kind.ts'

/** A resistance of any other make: shown once it has a calibration, fitted by a polynomial. */
export const other: ThermometerKind = {
  name: 'Other',
  words: 'Thermometer',
  signal: 'resistance',
  fit: 'polynomial',
  conversions: ['polynomial', 'table'],
  nominal: () => undefined,
  nominalAtC: 0,
  slopeFromPoints: false,
  hasWtp: false,
  classes: null,
  template: 'industrial-platinum',
  fields: ['nominalOhm', 'currentMa', 'selfHeatingMk'],
}
