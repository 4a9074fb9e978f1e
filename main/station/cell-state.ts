import { z } from 'zod'
import { CELL_POINTS } from '../../app/records/cell.ts'
import { SESSION_ENDINGS } from '../../app/records/session.ts'

/** A plateau that a sequence has taken: where it lies, and what a set of plateaus is made of. */
export const TakenCell = z.strictObject({
  step: z.int(),
  fixedPoint: z.enum(CELL_POINTS),
  /** Stretch of the session that the value comes from. */
  fromUtcUs: z.int(),
  toUtcUs: z.int(),
  /** R at zero current, ohm, and what is the plateau's own of its uncertainty, mK. */
  ohm: z.number(),
  t90C: z.number(),
  ohmPerKelvin: z.number(),
  ownUMk: z.number(),
  /** As a request for coefficients takes it. */
  request: z.record(z.string(), z.union([z.number(), z.string()])),
})
export type TakenCell = z.output<typeof TakenCell>

/** Where a sequence of cells stands; stored with what led to it, before it is acted upon. */
export const CellState = z.strictObject({
  version: z.literal(1),
  /** `asking`: the thermometer is not in the cell yet; `watching`: it is, and its plateau is looked for; `moved`: R(0.01 degC) moved. */
  phase: z.enum(['opening', 'asking', 'watching', 'moved', 'ended']),
  step: z.int(),
  /** Since when the thermometer is in the cell of this step, UTC in microseconds. */
  inCellUtcUs: z.int().nullable(),
  /** What has been said of this plateau. */
  told: z.enum(['nothing', 'on', 'over']),
  taken: z.array(TakenCell),
  marks: z.array(z.string()),
  ending: z.enum(SESSION_ENDINGS).nullable(),
  endingReason: z.string().nullable(),
})
export type CellState = z.output<typeof CellState>

export const firstCellState = (): CellState => ({
  version: 1,
  phase: 'opening',
  step: 0,
  inCellUtcUs: null,
  told: 'nothing',
  taken: [],
  marks: [],
  ending: null,
  endingReason: null,
})
