import { said } from '../messages/said.ts'
import type { CellComparison } from '../records/cell.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import type { FixedPointValue } from './fixed-point.ts'

/** What of a plateau's uncertainty is of the cell itself, and what is common to two cells read one after the other. */
const NOT_OF_A_DIFFERENCE: ReadonlySet<string> = new Set(['Cell', 'Bridge', 'Resistor'])

/**
 * Temperature of one cell less that of another of the same fixed point, by one thermometer in both.
 *
 *   d = (R_1 - R_2) / (dR/dt) - (t_1 - t_2)
 *
 * Symbols: R zero-current resistances, t temperatures of the element by head, pressure and the cells' certificates, so that d
 * is zero for two cells as their certificates state them. Bridge and resistor are the same in both and are in neither; agrees
 * where |d| is within its expanded uncertainty (k = 2) with both cells' own. Common practice, no source.
 *
 * Throws ComparisonError 'bad-input' where the two are of different fixed points.
 */
export function compareCells(
  own: FixedPointValue,
  other: FixedPointValue,
  ohmPerKelvin: number,
): Pick<CellComparison, 'differenceMk' | 'uMk' | 'agrees'> {
  if (own.fixedPoint !== other.fixedPoint) {
    throw new ComparisonError(
      'bad-input',
      said('cells-of-different-points', { fixedPoint: own.fixedPoint, other: other.fixedPoint }),
      { own: own.fixedPoint, other: other.fixedPoint },
    )
  }
  const differenceMk = ((own.ohm - other.ohm) / ohmPerKelvin - (own.t90C - other.t90C)) * 1e3
  const part = (of: (name: string) => boolean) =>
    Math.hypot(...[own, other].flatMap((v) => v.components.filter((c) => of(c.name)).map((c) => c.uMk)))
  const uMk = part((name) => !NOT_OF_A_DIFFERENCE.has(name))
  const uCells = part((name) => name === 'Cell')
  return { differenceMk, uMk, agrees: Math.abs(differenceMk) <= 2 * Math.hypot(uMk, uCells) }
}
