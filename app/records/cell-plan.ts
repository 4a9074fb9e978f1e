import { z } from 'zod'
import { CELL_POINTS } from './cell.ts'

/** A sequence of cells that the station runs with a person's hands: which thermometer, through which cells, in which order. */
export const CellPlan = z.strictObject({
  /** Channel of the bench that reads the thermometer in the cells. */
  channel: z.string().min(1),
  steps: z
    .array(
      z.strictObject({
        fixedPoint: z.enum(CELL_POINTS),
        /** Register id of the cell; absent: one that the register does not have. */
        cell: z.string().min(1).max(80).optional(),
      }),
    )
    .min(3),
  /** A plateau has to have lasted this long before it is taken, s. */
  leastS: z.number().positive().default(1200),
  /** Subrange of ITS-90 that the coefficients are for; absent: the one that the cells fit. */
  subrange: z.string().optional(),
})
export type CellPlan = z.output<typeof CellPlan>
