import type { ThermometerKind } from './kind.ts'

/** Resistance at 0 degC of the commonest industrial thermometer, ohm; IEC 60751:2022, 4.1. */
const COMMON_OHM = 100

export const industrialPlatinum: ThermometerKind = {
  name: 'Industrial platinum (IPRT)',
  words: 'Industrial platinum resistance thermometer',
  signal: 'resistance',
  fit: 'callendar-van-dusen',
  conversions: ['callendar-van-dusen', 'iec60751', 'its90', 'polynomial', 'table'],
  nominal: ({ nominalOhm }) => ({ kind: 'iec60751', r0: nominalOhm ?? COMMON_OHM }),
  nominalAtC: 0,
  slopeFromPoints: false,
  hasWtp: true,
  classes: 'iec60751',
  template: 'industrial-platinum',
  fields: ['nominalOhm', 'construction', 'currentMa', 'selfHeatingMk'],
}
