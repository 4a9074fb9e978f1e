import { SAME } from './batch-rows.ts'
import { type Cells, FINEST_STEP_US, stepFor, stepWithin } from './cells.ts'
import type { ChunkSummary } from './chunk.ts'
import type { Numbering } from './rows.ts'
import type { Db } from './sqlite.ts'

/** Buckets of a stretch of one channel that hold at least one number. t is the bucket's middle, UTC in s. */
export interface Overview {
  t: Float64Array<ArrayBuffer>
  min: Float64Array<ArrayBuffer>
  max: Float64Array<ArrayBuffer>
  mean: Float64Array<ArrayBuffer>
  n: Uint32Array<ArrayBuffer>
}

export interface Grid {
  /** Where the first bucket begins; not after fromUtcUs. */
  originUtcUs: number
  widthUs: number
}

/**
 * Buckets for a stretch: at most so many, as narrow as that allows. Wide ones are whole multiples of the largest step
 * of the cells' grid that fits three times into one, and stand on that grid, so that cells fill them exactly; that costs
 * at most a quarter of the number asked for.
 */
export function gridOf(fromUtcUs: number, toUtcUs: number, buckets: number): Grid {
  const plainUs = Math.max(1, Math.ceil((toUtcUs - fromUtcUs + 1) / buckets))
  const stepUs = stepWithin(plainUs / 3)
  if (stepUs === undefined) return { originUtcUs: fromUtcUs, widthUs: plainUs }
  const originUtcUs = Math.floor(fromUtcUs / stepUs) * stepUs
  let widthUs = Math.ceil(plainUs / stepUs) * stepUs
  while (Math.floor((toUtcUs - originUtcUs) / widthUs) >= buckets) widthUs += stepUs
  return { originUtcUs, widthUs }
}

/** Equal stretches of time, each a whole number of microseconds wide, and what falls into each. */
export class Buckets {
  readonly fromUtcUs: number
  readonly toUtcUs: number
  readonly #origin: number
  readonly #width: number
  /** Cells no wider than this fill whole buckets. */
  readonly #widestCellUs: number
  readonly #n
  readonly #min
  readonly #max
  readonly #sum

  constructor(fromUtcUs: number, toUtcUs: number, buckets: number) {
    this.fromUtcUs = fromUtcUs
    this.toUtcUs = toUtcUs
    const { originUtcUs, widthUs } = gridOf(fromUtcUs, toUtcUs, buckets)
    this.#origin = originUtcUs
    this.#width = widthUs
    this.#widestCellUs = widestCellUs(originUtcUs, widthUs)
    this.#n = new Uint32Array(buckets)
    this.#min = new Float64Array(buckets).fill(Number.POSITIVE_INFINITY)
    this.#max = new Float64Array(buckets).fill(Number.NEGATIVE_INFINITY)
    this.#sum = new Float64Array(buckets)
  }

  touches({ lowUtcUs, highUtcUs }: ChunkSummary): boolean {
    return lowUtcUs <= this.toUtcUs && highUtcUs >= this.fromUtcUs
  }

  covers({ lowUtcUs, highUtcUs }: ChunkSummary): boolean {
    return lowUtcUs >= this.fromUtcUs && highUtcUs <= this.toUtcUs
  }

  /** Takes a chunk by its summary where all of it falls into one bucket. */
  addWhole(chunk: ChunkSummary): boolean {
    if (!this.covers(chunk)) return false
    const at = Math.floor((chunk.lowUtcUs - this.#origin) / this.#width)
    if (at !== Math.floor((chunk.highUtcUs - this.#origin) / this.#width)) return false
    if (chunk.numbers > 0) {
      this.#n[at]! += chunk.numbers
      this.#sum[at]! += chunk.total!
      if (chunk.low! < this.#min[at]!) this.#min[at] = chunk.low!
      if (chunk.high! > this.#max[at]!) this.#max[at] = chunk.high!
    }
    return true
  }

  /** Whether a chunk's cells, as wide as its span makes them, are narrow enough. */
  takesCellsOf(chunk: ChunkSummary): boolean {
    return stepFor(chunk) <= this.#widestCellUs
  }

  /** Takes cells that each fall into one bucket as a whole. */
  addCells({ stepUs, first, low, high, total, numbers }: Cells): void {
    const perBucket = this.#width / stepUs
    const shift = first - this.#origin / stepUs
    for (let i = 0; i < numbers.length; i++) {
      const count = numbers[i]!
      if (count === 0) continue
      const at = Math.floor((shift + i) / perBucket)
      this.#n[at]! += count
      this.#sum[at]! += total[i]!
      if (low[i]! < this.#min[at]!) this.#min[at] = low[i]!
      if (high[i]! > this.#max[at]!) this.#max[at] = high[i]!
    }
  }

  addColumns(
    value: Float64Array,
    time: ArrayLike<number>,
    baseUtcUs: number,
    count: number,
    covered: boolean,
    hidden: Uint8Array | undefined,
  ): void {
    const n = this.#n
    const min = this.#min
    const max = this.#max
    const sum = this.#sum
    const width = this.#width
    const base = baseUtcUs - this.#origin
    const start = this.fromUtcUs - this.#origin
    const end = this.toUtcUs - this.#origin
    for (let i = 0; i < count; i++) {
      const v = value[i]!
      // Infinity - Infinity and NaN - NaN are both NaN: one comparison keeps what is finite.
      if (v - v !== 0 || hidden?.[i] === 1) continue
      const t = base + time[i]!
      if (!covered && (t < start || t > end)) continue
      const at = Math.floor(t / width)
      n[at]!++
      sum[at]! += v
      if (v < min[at]!) min[at] = v
      if (v > max[at]!) max[at] = v
    }
  }

  result(): Overview {
    const filled = this.#n.reduce((count, n) => count + (n > 0 ? 1 : 0), 0)
    const out = emptyOverview(filled)
    let at = 0
    for (let i = 0; i < this.#n.length; i++) {
      const n = this.#n[i]!
      if (n === 0) continue
      out.t[at] = (this.#origin + (i + 0.5) * this.#width) / 1e6
      out.min[at] = this.#min[i]!
      out.max[at] = this.#max[i]!
      out.mean[at] = this.#sum[i]! / n
      out.n[at] = n
      at++
    }
    return out
  }
}

/** Widest step of the cells' grid on which both the first bucket and the width stand; 0 where none does. */
function widestCellUs(originUtcUs: number, widthUs: number): number {
  let step = FINEST_STEP_US
  if (originUtcUs % step !== 0 || widthUs % step !== 0) return 0
  while (originUtcUs % (2 * step) === 0 && widthUs % (2 * step) === 0) step *= 2
  return step
}

const emptyOverview = (length: number): Overview => ({
  t: new Float64Array(length),
  min: new Float64Array(length),
  max: new Float64Array(length),
  mean: new Float64Array(length),
  n: new Uint32Array(length),
})

/** The same from the log alone: for files without chunks, for damaged chunks, and to check the chunks against. */
export function overviewOfLog(
  db: Db,
  numbering: Numbering,
  query: { channel: string; fromUtcUs?: number | undefined; toUtcUs?: number | undefined; buckets: number },
): Overview {
  const sources = numbering.sourcesOf(query.channel).map(({ id }) => id)
  const inSources = `source IN (${sources.join(', ') || 'NULL'})`
  const span = db
    .prepare(`SELECT min(utc_us) AS low, max(utc_us) AS high FROM log WHERE ${inSources}`)
    .get() as { low: number | null; high: number | null }
  if (span.low === null || span.high === null) return emptyOverview(0)
  const from = query.fromUtcUs ?? span.low
  const to = query.toUtcUs ?? span.high
  const { originUtcUs, widthUs } = gridOf(from, to, query.buckets)
  const number = `CAST(CASE value WHEN '${SAME}' THEN raw ELSE value END AS REAL)`
  const rows = db
    .prepare(
      `SELECT (utc_us - ?) / ? AS bucket, min(${number}), max(${number}), avg(${number}), count(*) FROM log
       WHERE ${inSources} AND value IS NOT NULL AND marks & ${numbering.hiddenBits} = 0 AND utc_us BETWEEN ? AND ? GROUP BY bucket ORDER BY bucket`,
    )
    .raw()
    .all(BigInt(originUtcUs), BigInt(widthUs), from, to) as [number, number, number, number, number][]
  const out = emptyOverview(rows.length)
  for (const [i, [bucket, min, max, mean, n]] of rows.entries()) {
    out.t[i] = (originUtcUs + (bucket + 0.5) * widthUs) / 1e6
    out.min[i] = min
    out.max[i] = max
    out.mean[i] = mean
    out.n[i] = n
  }
  return out
}
