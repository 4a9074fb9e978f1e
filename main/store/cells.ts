import type { ChunkSummary, Stretch } from './chunk.ts'

/**
 * A chunk's readings in equal cells of time: lowest, highest and sum of the numbers in each. Cells stand on a grid
 * that is the same for every chunk: multiples of a power of two of a second, counted from 1970. So cells of any chunk
 * fill whole buckets of an overview, and a few numbers are read in place of the readings.
 *
 * Packed little-endian: cell width in us f64, count u32, 4 bytes unused, low, high, total f64[count], numbers u32[count].
 */
export interface Cells {
  stepUs: number
  /** Number of the first cell on the grid. */
  first: number
  low: Float64Array
  high: Float64Array
  total: Float64Array
  numbers: Uint32Array
}

const HEAD = 16
/** Finest cell: 2^-6 s, a whole number of microseconds. */
export const FINEST_STEP_US = 15_625
/** At most so many cells for a chunk, about 32 readings in each: together they fit into one page of the file. */
const MOST_CELLS = 128

/** Largest step of the grid that is not wider than `us`; undefined below the finest. */
export function stepWithin(us: number): number | undefined {
  if (us < FINEST_STEP_US) return undefined
  let step = FINEST_STEP_US
  while (2 * step <= us) step *= 2
  return step
}

/** Smallest step of the grid that covers the chunk with few enough cells. */
export function stepFor({ lowUtcUs, highUtcUs }: ChunkSummary): number {
  let step = FINEST_STEP_US
  while (Math.floor(highUtcUs / step) - Math.floor(lowUtcUs / step) >= MOST_CELLS) step *= 2
  return step
}

/** Readings where `hidden` is 1 belong into no picture. */
export function packCells(
  { count, utcUs, value }: Stretch,
  summary: ChunkSummary,
  hidden?: Uint8Array,
): Buffer {
  const stepUs = stepFor(summary)
  const first = Math.floor(summary.lowUtcUs / stepUs)
  const cells = Math.floor(summary.highUtcUs / stepUs) - first + 1
  const packed = new ArrayBuffer(HEAD + cells * 28)
  const head = new DataView(packed)
  head.setFloat64(0, stepUs, true)
  head.setUint32(8, cells, true)
  const { low, high, total, numbers } = columnsOf(packed, 0, cells)
  low.fill(Number.POSITIVE_INFINITY)
  high.fill(Number.NEGATIVE_INFINITY)
  for (let i = 0; i < count; i++) {
    const v = value[i]!
    // Infinity - Infinity and NaN - NaN are both NaN: one comparison keeps what is finite.
    if (v - v !== 0 || hidden?.[i] === 1) continue
    const at = Math.floor(utcUs[i]! / stepUs) - first
    numbers[at]!++
    total[at]! += v
    if (v < low[at]!) low[at] = v
    if (v > high[at]!) high[at] = v
  }
  return Buffer.from(packed)
}

/** Opens packed cells. Throws RangeError where the bytes cannot be such. */
export function openCells(packed: Uint8Array, { lowUtcUs }: ChunkSummary): Cells {
  const body = packed.byteOffset % 8 === 0 ? packed : new Uint8Array(packed)
  if (body.byteLength < HEAD) throw new RangeError('cells are cut short')
  const head = new DataView(body.buffer, body.byteOffset)
  const stepUs = head.getFloat64(0, true)
  const count = head.getUint32(8, true)
  if (body.byteLength !== HEAD + count * 28 || !(stepUs >= FINEST_STEP_US))
    throw new RangeError('cells have a wrong length')
  return { stepUs, first: Math.floor(lowUtcUs / stepUs), ...columnsOf(body.buffer, body.byteOffset, count) }
}

function columnsOf(buffer: ArrayBufferLike, offset: number, count: number) {
  const column = (i: number) => new Float64Array(buffer, offset + HEAD + i * 8 * count, count)
  return {
    low: column(0),
    high: column(1),
    total: column(2),
    numbers: new Uint32Array(buffer, offset + HEAD + 24 * count, count),
  }
}
