import type { ThermometerCalibration } from '../records/register.ts'

/**
 * Whether a calibration holds at zero current, so that self-heating is to be taken off. Where it does not say so itself, a
 * conversion by R(WTP) or by a thermistor equation does (zero power), a Callendar-Van Dusen or tabled one holds at the
 * measuring current. Common practice, no source.
 */
export function holdsAtZeroCurrent(
  calibration: Pick<ThermometerCalibration, 'conversion' | 'atZeroCurrent'>,
): boolean {
  const { kind } = calibration.conversion
  return calibration.atZeroCurrent ?? (kind === 'its90' || kind === 'steinhart-hart' || kind === 'beta')
}
