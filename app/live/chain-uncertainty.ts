import { at, last as lastOf } from '../base/lists.ts'
import type { CalibrationUncertainty, ThermometerCalibration, WtpEntry } from '../records/register.ts'
import type { ResistorValue } from '../thermometry/resistor.ts'
import { type BridgeInForce, bridgeLinearityAt } from './bridge-in-force.ts'

/** One part of a channel's standard uncertainty in temperature. */
export interface UncertaintyPart {
  readonly name:
    | 'bridge'
    | 'resistor-calibration'
    | 'resistor-drift'
    | 'resistor-temperature'
    | 'standard'
    | 'calibration'
    | 'wtp'
    | 'self-heating'
    | 'junction'
    | 'nominal'
  readonly uMk: number
}

interface Inputs {
  readonly celsius: number
  /** Resistance (or mV) at that temperature, and its slope per K. */
  readonly signal: number
  readonly slope: number
  readonly calibration: ThermometerCalibration | undefined
  readonly wtp: WtpEntry | undefined
  readonly resistor: ResistorValue | undefined
  /** The thermometer of another channel in place of a resistor: its resistance in ohm, and u of that, relative. */
  readonly standard: { readonly ohm: number; readonly relative: number } | undefined
  readonly bridge: Pick<BridgeInForce, 'linearityRatio' | 'uResolutionRatio' | 'correction'> | undefined
  readonly selfHeatingMk: number
  /** Of a thermocouple's reference junction, already brought to the measured temperature. */
  readonly junctionMk: number
  readonly nominalK: number
}

/** Part of the self-heating correction it may be wrong by, half-width of a rectangle; common practice, no source. */
const SELF_HEATING_DOUBT = 0.2

/**
 * Standard uncertainty parts of a temperature, mK: what is uncertain of the ratio or of the resistor is brought to
 * temperature by R u_rel(R) / (dR/dt); the calibration's own comes from its certificate.
 */
export function chainUncertainty(inputs: Inputs): readonly UncertaintyPart[] {
  const { signal, slope, resistor, bridge, calibration, wtp } = inputs
  const parts: UncertaintyPart[] = []
  const add = (name: UncertaintyPart['name'], uMk: number) => {
    if (uMk > 0) parts.push({ name, uMk })
  }
  const relativeToMk = Math.abs((signal / slope) * 1e3)
  const denominatorOhm = resistor?.ohm ?? inputs.standard?.ohm
  if (bridge && denominatorOhm !== undefined) {
    const uRatio = Math.hypot(bridgeLinearityAt(bridge, signal / denominatorOhm), bridge.uResolutionRatio)
    add('bridge', Math.abs((uRatio * denominatorOhm * 1e3) / slope))
  }
  if (inputs.standard) add('standard', relativeToMk * inputs.standard.relative)
  if (resistor) {
    const { contributions, ohm } = resistor
    add('resistor-calibration', relativeToMk * (contributions.calibration / ohm))
    add('resistor-drift', relativeToMk * (contributions.drift / ohm))
    add('resistor-temperature', relativeToMk * (contributions.temperature / ohm))
  }
  if (calibration?.uncertainty) add('calibration', uCalibrationMk(calibration.uncertainty, inputs.celsius))
  if (wtp) add('wtp', relativeToMk * (wtp.uOhm / Number(wtp.ohm)))
  add('self-heating', (inputs.selfHeatingMk * SELF_HEATING_DOUBT) / Math.sqrt(3))
  add('junction', inputs.junctionMk)
  add('nominal', inputs.nominalK * 1e3)
  return parts
}

/** Standard uncertainty of a calibration at a temperature, mK: linear between the certificate's points, flat outside. */
export function uCalibrationMk(uncertainty: CalibrationUncertainty, celsius: number): number {
  const points = uncertainty.points.toSorted((a, b) => a.celsius - b.celsius)
  const [first, last] = [at(points, 0), lastOf(points)]
  if (celsius <= first.celsius) return first.expandedMk / uncertainty.k
  if (celsius >= last.celsius) return last.expandedMk / uncertainty.k
  const above = points.findIndex((p) => p.celsius >= celsius)
  const low = at(points, above - 1)
  const high = at(points, above)
  const part = (celsius - low.celsius) / (high.celsius - low.celsius)
  return (low.expandedMk + part * (high.expandedMk - low.expandedMk)) / uncertainty.k
}
