import type { ChunkSummary } from './chunk.ts'
import { type Numbering, SAME } from './rows.ts'
import type { Db } from './sqlite.ts'

/** Buckets of a stretch of one channel that hold at least one number. t is the bucket's middle, UTC in s. */
export interface Overview {
  t: Float64Array<ArrayBuffer>
  min: Float64Array<ArrayBuffer>
  max: Float64Array<ArrayBuffer>
  mean: Float64Array<ArrayBuffer>
  n: Uint32Array<ArrayBuffer>
}

/** Equal stretches of time, each a whole number of microseconds wide, and what falls into each. */
export class Buckets {
  readonly fromUtcUs: number
  readonly toUtcUs: number
  readonly widthUs: number
  readonly #n
  readonly #min
  readonly #max
  readonly #sum

  constructor(fromUtcUs: number, toUtcUs: number, buckets: number) {
    this.fromUtcUs = fromUtcUs
    this.toUtcUs = toUtcUs
    this.widthUs = bucketWidthUs(fromUtcUs, toUtcUs, buckets)
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
    const at = Math.floor((chunk.lowUtcUs - this.fromUtcUs) / this.widthUs)
    if (at !== Math.floor((chunk.highUtcUs - this.fromUtcUs) / this.widthUs)) return false
    if (chunk.numbers > 0) {
      this.#n[at]! += chunk.numbers
      this.#sum[at]! += chunk.total!
      if (chunk.low! < this.#min[at]!) this.#min[at] = chunk.low!
      if (chunk.high! > this.#max[at]!) this.#max[at] = chunk.high!
    }
    return true
  }

  addColumns(
    value: Float64Array,
    time: Uint32Array | Float64Array,
    baseUtcUs: number,
    count: number,
    covered: boolean,
  ): void {
    const n = this.#n
    const min = this.#min
    const max = this.#max
    const sum = this.#sum
    const base = baseUtcUs - this.fromUtcUs
    const end = this.toUtcUs - this.fromUtcUs
    for (let i = 0; i < count; i++) {
      const v = value[i]!
      // Infinity - Infinity and NaN - NaN are both NaN: one comparison keeps what is finite.
      if (v - v !== 0) continue
      const t = base + time[i]!
      if (!covered && (t < 0 || t > end)) continue
      const at = Math.floor(t / this.widthUs)
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
      out.t[at] = (this.fromUtcUs + (i + 0.5) * this.widthUs) / 1e6
      out.min[at] = this.#min[i]!
      out.max[at] = this.#max[i]!
      out.mean[at] = this.#sum[i]! / n
      out.n[at] = n
      at++
    }
    return out
  }
}

export const bucketWidthUs = (fromUtcUs: number, toUtcUs: number, buckets: number) =>
  Math.max(1, Math.ceil((toUtcUs - fromUtcUs + 1) / buckets))

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
  const width = bucketWidthUs(from, to, query.buckets)
  const number = `CAST(CASE value WHEN '${SAME}' THEN raw ELSE value END AS REAL)`
  const rows = db
    .prepare(
      `SELECT (utc_us - ?) / ? AS bucket, min(${number}), max(${number}), avg(${number}), count(*) FROM log
       WHERE ${inSources} AND value IS NOT NULL AND utc_us BETWEEN ? AND ? GROUP BY bucket ORDER BY bucket`,
    )
    .raw()
    .all(BigInt(from), BigInt(width), from, to) as [number, number, number, number, number][]
  const out = emptyOverview(rows.length)
  for (const [i, [bucket, min, max, mean, n]] of rows.entries()) {
    out.t[i] = (from + (bucket + 0.5) * width) / 1e6
    out.min[i] = min
    out.max[i] = max
    out.mean[i] = mean
    out.n[i] = n
  }
  return out
}
