import { at } from '../base/lists.ts'
import type { FixedPointsRequest } from '../contract/check-request.ts'
import type { Cell, CellPlateau } from '../records/cell.ts'
import { valueOfPlateau } from './answer-check.ts'

/** Cells with the plateaus that a set took in them added to their histories; only those that the set names. */
export function withPlateaus(cells: readonly Cell[], request: FixedPointsRequest, today: string): Cell[] {
  const values = request.plateaus.map(valueOfPlateau)
  const water = values.filter((v) => v.fixedPoint === 'H2O')
  const rWtp = water.reduce((sum, v) => sum + v.ohm, 0) / water.length
  return cells.flatMap((cell) => {
    const taken = request.plateaus.flatMap((plateau, i): CellPlateau[] => {
      if (plateau.cell !== cell.id) return []
      const { ohm, uMk } = at(values, i)
      return [
        {
          date: plateau.utc?.slice(0, 10) ?? request.date ?? today,
          ...(request.session !== undefined && { session: request.session }),
          ...(request.thermometer !== undefined && { thermometer: request.thermometer }),
          ohm: Number(ohm.toPrecision(11)),
          ...(water.length > 0 && { w: Number((ohm / rWtp).toPrecision(10)) }),
          uMk: Number(uMk.toPrecision(3)),
        },
      ]
    })
    return taken.length === 0 ? [] : [{ ...cell, plateaus: [...(cell.plateaus ?? []), ...taken] }]
  })
}
