/**
 * A stretch of one channel: the numbers of its readings beside the log, for pictures. Little-endian, in this order:
 * value f64[count] (NaN where the reading has no number), time after the first in us as u32[count] or f64[count],
 * seq after the one before as u16[count] or u32[count]. `wide` bits say which.
 */
export interface Stretch {
  count: number
  seq: Float64Array<ArrayBuffer>
  utcUs: Float64Array<ArrayBuffer>
  value: Float64Array<ArrayBuffer>
}

export interface ChunkSummary {
  count: number
  firstSeq: number
  lastSeq: number
  lowUtcUs: number
  highUtcUs: number
  /** How many have a finite number, and these numbers' lowest, highest and sum; null when none has. */
  numbers: number
  low: number | null
  high: number | null
  total: number | null
}

const HEAD = 16

export function summarise(stretch: Stretch): ChunkSummary {
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
    if (!Number.isFinite(v)) continue
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

/** Packs a stretch whose summary is known. */
export function packChunk(stretch: Stretch, { lowUtcUs, highUtcUs, firstSeq }: ChunkSummary): Buffer {
  const { count, seq, utcUs, value } = stretch
  const wideTime = highUtcUs - lowUtcUs > 0xffffffff
  let wideSeq = false
  for (let i = 1; i < count && !wideSeq; i++) wideSeq = seq[i]! - seq[i - 1]! > 0xffff
  const timeBytes = count * (wideTime ? 8 : 4)
  const body = new ArrayBuffer(HEAD + count * 8 + timeBytes + count * (wideSeq ? 4 : 2))
  const head = new DataView(body)
  head.setUint32(0, count, true)
  head.setUint32(4, (wideTime ? 1 : 0) | (wideSeq ? 2 : 0), true)
  head.setFloat64(8, lowUtcUs, true)
  new Float64Array(body, HEAD, count).set(value.subarray(0, count))
  const times = wideTime
    ? new Float64Array(body, HEAD + count * 8, count)
    : new Uint32Array(body, HEAD + count * 8, count)
  for (let i = 0; i < count; i++) times[i] = utcUs[i]! - lowUtcUs
  const gaps = wideSeq
    ? new Uint32Array(body, HEAD + count * 8 + timeBytes, count)
    : new Uint16Array(body, HEAD + count * 8 + timeBytes, count)
  let before = firstSeq
  for (let i = 0; i < count; i++) {
    gaps[i] = seq[i]! - before
    before = seq[i]!
  }
  return Buffer.from(body)
}

export interface OpenChunk {
  count: number
  baseUtcUs: number
  value: Float64Array
  /** After baseUtcUs, us. */
  time: Uint32Array | Float64Array
  /** After the one before; the first after the chunk's first seq. */
  seqGap: Uint16Array | Uint32Array
}

/** Opens a packed chunk. Throws RangeError where the bytes cannot be one. */
export function openChunk(packed: Uint8Array): OpenChunk {
  // Typed arrays need their own alignment, which a slice of a pooled buffer may not have.
  const body = packed.byteOffset % 8 === 0 ? packed : new Uint8Array(packed)
  const { buffer, byteOffset, byteLength } = body
  if (byteLength < HEAD) throw new RangeError('chunk is cut short')
  const head = new DataView(buffer, byteOffset)
  const count = head.getUint32(0, true)
  const wide = head.getUint32(4, true)
  const timeBytes = count * (wide & 1 ? 8 : 4)
  if (wide > 3 || byteLength !== HEAD + count * 8 + timeBytes + count * (wide & 2 ? 4 : 2))
    throw new RangeError('chunk has a wrong length')
  const timeAt = byteOffset + HEAD + count * 8
  return {
    count,
    baseUtcUs: head.getFloat64(8, true),
    value: new Float64Array(buffer, byteOffset + HEAD, count),
    time: wide & 1 ? new Float64Array(buffer, timeAt, count) : new Uint32Array(buffer, timeAt, count),
    seqGap:
      wide & 2
        ? new Uint32Array(buffer, timeAt + timeBytes, count)
        : new Uint16Array(buffer, timeAt + timeBytes, count),
  }
}
