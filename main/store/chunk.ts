/**
 * A stretch of one channel; only the first `count` of each column are meant: its readings beside the log but for their text, as columns, for pictures, statistics and
 * replay. `utcUs`, `monoUs`, `source` and `marks` are those of the log.
 */
export interface Stretch {
  count: number
  seq: Float64Array<ArrayBuffer>
  utcUs: Float64Array<ArrayBuffer>
  monoUs: Float64Array<ArrayBuffer>
  /** NaN where the reading has no number. */
  value: Float64Array<ArrayBuffer>
  source: Uint32Array<ArrayBuffer>
  marks: Uint32Array<ArrayBuffer>
  /** All marks that any of them carries. */
  allMarks: number
}

export interface ChunkSummary {
  count: number
  firstSeq: number
  lastSeq: number
  lowUtcUs: number
  highUtcUs: number
  /** How many have a finite number and belong into pictures, and these numbers' lowest, highest and sum; null for none. */
  numbers: number
  low: number | null
  high: number | null
  total: number | null
}

export const emptyStretch = (length: number): Stretch => ({
  count: 0,
  seq: new Float64Array(length),
  utcUs: new Float64Array(length),
  monoUs: new Float64Array(length),
  value: new Float64Array(length),
  source: new Uint32Array(length),
  marks: new Uint32Array(length),
  allMarks: 0,
})

/** 1 at each reading that has one of these marks; undefined where none has. */
export function havingMarks({ count, marks, allMarks }: Stretch, bits: number): Uint8Array | undefined {
  if ((allMarks & bits) === 0) return undefined
  const having = new Uint8Array(count)
  for (let i = 0; i < count; i++) if ((marks[i]! & bits) !== 0) having[i] = 1
  return having
}

/** What a stretch holds; readings where `hidden` is 1 belong into no picture. */
export function summarise(stretch: Stretch, hidden?: Uint8Array): ChunkSummary {
  const { count, seq, utcUs, value } = stretch
  let lowUtcUs = Number.POSITIVE_INFINITY
  let highUtcUs = Number.NEGATIVE_INFINITY
  let numbers = 0
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  let total = 0
  for (let i = 0; i < count; i++) {
    const t = utcUs[i]!
    if (t < lowUtcUs) lowUtcUs = t
    if (t > highUtcUs) highUtcUs = t
    const v = value[i]!
    if (v - v !== 0 || hidden?.[i] === 1) continue
    numbers++
    total += v
    if (v < low) low = v
    if (v > high) high = v
  }
  const none = numbers === 0
  return {
    count,
    firstSeq: seq[0]!,
    lastSeq: seq[count - 1]!,
    lowUtcUs,
    highUtcUs,
    numbers,
    low: none ? null : low,
    high: none ? null : high,
    total: none ? null : total,
  }
}
