import { z } from 'zod'
import { Repairs } from './repair.ts'

const Id = z.string().min(1).max(80)
const IsoDate = z.iso.date()

/** Fixed points of ITS-90 that a cell can be of. */
export const CELL_POINTS = [
  'e-H2',
  'Ne',
  'O2',
  'Ar',
  'Hg',
  'H2O',
  'Ga',
  'In',
  'Sn',
  'Zn',
  'Al',
  'Ag',
  'Au',
  'Cu',
] as const

/** A plateau that was taken in the cell: what the session's record gave, dated. */
export const CellPlateau = z.strictObject({
  date: IsoDate,
  session: z.string().optional(),
  channel: z.string().optional(),
  /** Register id of the thermometer in it. */
  thermometer: Id.optional(),
  /** R at zero current, ohm, and W where R(0.01 degC) of the set is known. */
  ohm: z.number().positive(),
  w: z.number().positive().optional(),
  /** Standard uncertainty of the value as a temperature, mK. */
  uMk: z.number().nonnegative(),
})
export type CellPlateau = z.output<typeof CellPlateau>

/** A comparison with another cell of the same fixed point, by one thermometer. */
export const CellComparison = z.strictObject({
  id: Id,
  date: IsoDate,
  /** Register id of the other cell. */
  against: Id,
  /** This cell less the other, mK, and its standard uncertainty without what both cells' own is. */
  differenceMk: z.number(),
  uMk: z.number().nonnegative(),
  agrees: z.boolean(),
  note: z.string().optional(),
})
export type CellComparison = z.output<typeof CellComparison>

/** A fixed-point cell. */
export const Cell = z.strictObject({
  id: Id,
  name: z.string(),
  fixedPoint: z.enum(CELL_POINTS),
  maker: z.string().default(''),
  serial: z.string().default(''),
  /** Depth of the middle of a thermometer's element below the surface, as it is usually immersed, m; standard uncertainty. */
  depthM: z.number().nonnegative(),
  uDepthM: z.number().nonnegative().default(0.005),
  /** Pressure in the cell, Pa; absent: the standard atmosphere, of no account at a triple point. */
  pressurePa: z.number().positive().optional(),
  uPressurePa: z.number().nonnegative().optional(),
  /** Temperature of the cell less that of the scale, mK, as its certificate states it. */
  offsetMk: z.number().default(0),
  /** Standard uncertainty of the cell itself, mK: isotopes, impurities, its certificate. */
  uMk: z.number().nonnegative(),
  calibrated: IsoDate.optional(),
  due: IsoDate.optional(),
  certificate: z.string().optional(),
  laboratory: z.string().optional(),
  accreditation: z.string().optional(),
  plateaus: z.array(CellPlateau).optional(),
  comparisons: z.array(CellComparison).optional(),
  repairs: Repairs,
  note: z.string().optional(),
})
export type Cell = z.output<typeof Cell>
