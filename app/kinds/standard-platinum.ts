import type { ThermometerKind } from './kind.ts'

/** Ratio of R(WTP) to R(0 degC) of platinum, from the ITS-90 reference function near the triple point. */
const WTP_OVER_ICE = 1.00003988

/** R(0 degC) of the commonest standard thermometer, ohm; common practice, no source. */
const COMMON_OHM = 25.5

export const standardPlatinum: ThermometerKind = {
  name: 'Standard platinum (SPRT)',
  words: 'Standard platinum resistance thermometer',
  signal: 'resistance',
  fit: 'its90',
  conversions: ['its90', 'table'],
  nominal: ({ nominalOhm, wtpHistory }) => ({
    kind: 'its90',
    rWtp: wtpHistory.at(-1)?.ohm ?? (nominalOhm ?? COMMON_OHM) * WTP_OVER_ICE,
    subrange: '3.3.2.1',
    coefficients: { a: 0, b: 0, c: 0 },
    joined: { subrange: '3.3.1.3', coefficients: { a: 0, b: 0 } },
  }),
  nominalAtC: 0,
  slopeFromPoints: false,
  hasWtp: true,
  classes: null,
  template: 'standard-platinum',
  fields: ['nominalOhm', 'currentMa', 'selfHeatingMk'],
}
