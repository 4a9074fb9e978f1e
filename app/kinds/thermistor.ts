import type { ThermometerKind } from './kind.ts'

/** Typical material constant of an NTC bead between 0 and 50 degC, K; common practice, no source. */
const TYPICAL_BETA_K = 3950
/** Commonest resistance at 25 degC, ohm; common practice, no source. */
const COMMON_OHM = 10_000

export const thermistor: ThermometerKind = {
  name: 'Thermistor',
  words: 'Thermistor',
  signal: 'resistance',
  fit: 'steinhart-hart',
  conversions: ['steinhart-hart', 'beta', 'polynomial', 'table'],
  nominal: ({ nominalOhm }) => ({
    kind: 'beta',
    r0: nominalOhm ?? COMMON_OHM,
    t0: 25,
    beta: TYPICAL_BETA_K,
  }),
  nominalAtC: 25,
  // A nominal thermistor may be off by a tenth in its slope.
  slopeFromPoints: true,
  hasWtp: false,
  classes: null,
  template: 'thermistor',
  fields: ['nominalOhm', 'currentMa', 'selfHeatingMk'],
}
