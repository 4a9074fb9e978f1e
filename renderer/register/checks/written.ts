import { decimalsOfU } from '../../../app/base/rounding.ts'
import { uncertaintyText } from '../../text/measured.ts'
import { fixed, significant } from '../../text/numbers.ts'

/** '48.295401 Ω ± 0.000064 Ω (k = 2)': a value to the second digit of its expanded uncertainty. */
export function withU(value: number, u: number, unit: string): string {
  const U = 2 * u
  if (!(U > 0)) return `${significant(value, 9)} ${unit}`
  return `${fixed(value, decimalsOfU(U))} ${unit} ± ${uncertaintyText(U)} ${unit} (k = 2)`
}

/** A relative amount in parts in 10⁹, or in 10⁶ where it is large. */
export function parts(relative: number, digits = 1): string {
  return Math.abs(relative) >= 1e-6
    ? `${fixed(relative * 1e6, digits + 1)} × 10⁻⁶`
    : `${fixed(relative * 1e9, digits)} × 10⁻⁹`
}
