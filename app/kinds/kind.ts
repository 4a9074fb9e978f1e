import type { Conversion, ThermocoupleType } from './conversion.ts'

/** What a kind needs to know of one thermometer. */
export interface KnownThermometer {
  /** Nominal resistance, ohm. */
  readonly nominalOhm?: number | undefined
  readonly thermocoupleType?: ThermocoupleType | undefined
  readonly calibrations: readonly { readonly date: string; readonly conversion: Conversion }[]
  readonly wtpHistory: readonly { readonly ohm: string }[]
}

/** Relations that a comparison can fit to a thermometer under test. */
export const FITS = ['its90', 'callendar-van-dusen', 'steinhart-hart', 'thermocouple', 'polynomial'] as const
export type Fit = (typeof FITS)[number]

/** Fields of a record that only some kinds have. */
export type KindField = 'nominalOhm' | 'thermocoupleType' | 'construction' | 'currentMa' | 'selfHeatingMk'

/** A kind of thermometer: everything by which it differs from the others, in one row. */
export interface ThermometerKind {
  /** How the window calls it. */
  readonly name: string
  /** How a certificate calls it. */
  readonly words: string
  /** What is measured of it. Resistances are in ohm, voltages in mV. */
  readonly signal: 'resistance' | 'voltage'
  /** Relation fitted to it unless another is chosen. */
  readonly fit: Fit
  /** Forms of a certificate's coefficients it may have, the usual one first. */
  readonly conversions: readonly Conversion['kind'][]
  /**
   * The conversion that stands in for a calibration it does not have yet, so that its temperature can be watched. Good to
   * a few kelvin at worst; never used for a result.
   */
  readonly nominal: (thermometer: KnownThermometer) => Conversion | undefined
  /** Temperature at which its nominal resistance holds, and a self-heating stated without one, degC. */
  readonly nominalAtC: number
  /** Whether a nominal conversion may be so far off in its slope that the comparison's own points tell better. */
  readonly slopeFromPoints: boolean
  /** Whether R(0.01 degC) is measured of it and its history kept. */
  readonly hasWtp: boolean
  /** Tolerance classes that it may be judged by. */
  readonly classes: 'iec60751' | null
  /** Budget template, by id, where a laboratory has none of its own. */
  readonly template: string
  readonly fields: readonly KindField[]
}
