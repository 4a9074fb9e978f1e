import type { CellSaid } from '../contract/checks.ts'
import type { Cell } from '../records/cell.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'

type Named = CellSaid & { readonly cell?: string | undefined }

/**
 * What is said of a plateau, with what the register knows of its cell where a cell is named: depth, pressure, the cell's own
 * offset and uncertainty. What is said itself comes first. Throws ComparisonError 'bad-input' where the register has no such
 * cell, or one of another fixed point.
 */
export function withCell<S extends Named>(said: S, cells: readonly Cell[]): S & { offsetMk?: number } {
  if (said.cell === undefined) return said
  const cell = cells.find(({ id }) => id === said.cell)
  if (!cell) {
    const known = cells.map(({ id }) => id).join(', ')
    throw new ComparisonError(
      'bad-input',
      `There is no cell "${said.cell}" in the register; ${known === '' ? 'it has none yet. Enter the cell first' : `it has ${known}`}.`,
      { cell: said.cell },
    )
  }
  if (cell.fixedPoint !== said.fixedPoint) {
    throw new ComparisonError(
      'bad-input',
      `${cell.name} is a cell of ${cell.fixedPoint}, not of ${said.fixedPoint}. Choose the cell the thermometer was in.`,
      { cell: cell.id, fixedPoint: said.fixedPoint },
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
    ...Object.fromEntries(Object.entries(said).filter(([, value]) => value !== undefined)),
  } as S & { offsetMk?: number }
}
