import type { CellSaid } from '../contract/checks.ts'
import { said } from '../messages/said.ts'
import type { Cell } from '../records/cell.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'

type Named = CellSaid & { readonly cell?: string | undefined }

/**
 * What is said of a plateau, with what the register knows of its cell where a cell is named: depth, pressure, the cell's own
 * offset and uncertainty. What is said itself comes first. Throws ComparisonError 'bad-input' where the register has no such
 * cell, or one of another fixed point.
 */
export function withCell<S extends Named>(given: S, cells: readonly Cell[]): S & { offsetMk?: number } {
  if (given.cell === undefined) return given
  const cell = cells.find(({ id }) => id === given.cell)
  if (!cell) {
    const known = cells.map(({ id }) => id).join(', ')
    throw new ComparisonError(
      'bad-input',
      said('no-such-cell', {
        cell: given.cell,
        known: known === '' ? 'it has none yet. Enter the cell first' : `it has ${known}`,
      }),
      { cell: given.cell },
    )
  }
  if (cell.fixedPoint !== given.fixedPoint) {
    throw new ComparisonError(
      'bad-input',
      said('cell-of-another-point', {
        cell: cell.name,
        fixedPoint: cell.fixedPoint,
        other: given.fixedPoint,
      }),
      { cell: cell.id, fixedPoint: given.fixedPoint },
    )
  }
  const { depthM, uDepthM, pressurePa, uPressurePa, uMk, offsetMk } = cell
  return {
    depthM,
    uDepthM,
    ...(pressurePa !== undefined && { pressurePa }),
    ...(uPressurePa !== undefined && { uPressurePa }),
    uCellMk: uMk,
    offsetMk,
    ...Object.fromEntries(Object.entries(given).filter(([, value]) => value !== undefined)),
  } as S & { offsetMk?: number }
}
