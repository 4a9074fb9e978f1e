import { normalCdf } from './normal.ts'

const STEP = 1 / 256
const END = 8
const TABLE = Float64Array.from({ length: (2 * END) / STEP + 2 }, (_, i) => normalCdf(-END + i * STEP))

/**
 * Normal distribution function from a table, for where millions of values are asked for.
 *
 * Symbols  z in standard deviations
 * Source   linear between the values of `normalCdf` at steps of 1/256: the error is at most h² φ'/8, 4.7e-7
 * Valid    any z; beyond ±8 the value there
 * Throws   nothing
 */
export function normalCdfFast(z: number): number {
  const at = Math.min(2 * END - STEP, Math.max(0, z + END)) / STEP
  const i = Math.floor(at)
  const low = TABLE[i]!
  return low + (at - i) * (TABLE[i + 1]! - low)
}
