import type { Quantity } from '../kinds/conversion.ts'

/**
 * One sensor's relation between its own signal and temperature, in doubles. Signals: W or R/R(0 degC) for platinum,
 * ohm for thermistors, mV for thermocouples. Functions extrapolate freely and give NaN where there is no answer:
 * the range is judged once, by whoever calls (see convert.ts), so the formulas stay plain.
 */
export interface Sensor {
  readonly kind: string
  /** The quantity of the signal; 'any' for a plain conversion that does not say. */
  readonly signal: Exclude<Quantity, 'temperature'> | 'any'
  /** What multiplies a ratio to give a resistance in ohm: R(WTP) or R(0 degC); absent where it is not known. */
  readonly scale?: { readonly name: 'rWtp' | 'r0'; readonly ohm: number; readonly u: number }
  readonly lowC: number
  readonly highC: number
  /** The declared range where it is one of the signal and not of temperature. */
  readonly signalRange?: readonly [number, number]
  /** How far the relation is followed at all, degC: beyond it there is no value, only the mark. */
  readonly reachC: readonly [number, number]
  /** Words that finish 'outside ..., the range of'. */
  readonly rangeOf: string
  temperature(signal: number): number
  signalAt(t90: number): number
  /** dSignal/dt at a temperature and the signal that belongs to it. */
  slope(t90: number, signal: number): number
  /** dSignal/dcoefficient at constant temperature, by coefficient name. */
  gradient(t90: number, signal: number): Readonly<Record<string, number>>
  /** May name the scale too; what is uncertain of it then stands here and not in `scale.u`. */
  readonly covariance?: { readonly names: readonly string[]; readonly matrix: readonly (readonly number[])[] }
  /** Further temperatures that give the same signal, where the relation is not monotonic. */
  alternatives?(signal: number): readonly number[]
  /** Further signals that give the same temperature. */
  signalAlternatives?(t90: number): readonly number[]
  /** Thermocouples: the reference junction, degC, its standard uncertainty, and where the emf function holds. */
  readonly junction?: {
    readonly t90: number
    readonly u: number
    readonly lowC: number
    readonly highC: number
    emf(t90: number): number
  }
}

/**
 * Ends of a range are met to half the last place of a ratio printed with eight decimals, which is 20 microkelvin
 * where it weighs most, at 13.8033 K.
 */
export const RANGE_TOLERANCE_K = 2e-5
