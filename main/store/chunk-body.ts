import type { ChunkSummary, Stretch } from './chunk.ts'

/**
 * A packed stretch, little-endian: count u32, shape u32, lowest utcUs f64, lead f64, number of kinds u32, 4 bytes unused;
 * then columns of `count`, those of wider numbers first:
 *
 *   value     f64, NaN where the reading has no number
 *   time      after the lowest utcUs, us
 *   mono      monoUs - utcUs - lead, the lead being that of the first reading; left out where it is 0 throughout
 *   seq       after the one before, the first after the chunk's first seq
 *   kind      place in the list of kinds; left out where there is one kind only
 *
 * and among the u32 columns the kinds: source and marks of each, in order of their first reading. `shape` has the width in
 * bytes of time, mono, seq and kind, four bits each from the lowest on, 0 where it is left out; mono of one or four
 * bytes is signed, eight bytes are always f64.
 */
const HEAD = 32

const UNSIGNED = { 1: Uint8Array, 2: Uint16Array, 4: Uint32Array, 8: Float64Array } as const
const SIGNED = { 1: Int8Array, 2: Int16Array, 4: Int32Array, 8: Float64Array } as const
type Width = keyof typeof UNSIGNED

interface Shape {
  count: number
  kinds: number
  time: Width
  mono: Width | 0
  seq: Width
  kind: Width | 0
}

export interface OpenChunk {
  count: number
  baseUtcUs: number
  value: Float64Array
  /** After baseUtcUs, us. */
  time: ArrayLike<number>
  leadUs: number
  mono: ArrayLike<number> | undefined
  /** After the one before; the first after the chunk's first seq. */
  seqGap: ArrayLike<number>
  /** Source and marks of each kind. */
  kinds: Uint32Array
  kind: ArrayLike<number> | undefined
}

/** Where each column begins, and the length of all. */
function layout({ count, kinds, time, mono, seq, kind }: Shape) {
  const at = { time: 0, mono: 0, seq: 0, kind: 0, kinds: 0 }
  const widths = { time, mono, seq, kind }
  let end = HEAD + 8 * count
  for (const width of [8, 4, 2, 1]) {
    for (const name of ['time', 'mono', 'seq', 'kind'] as const) {
      if (widths[name] !== width) continue
      at[name] = end
      end += width * count
    }
    if (width !== 4) continue
    at.kinds = end
    end += 8 * kinds
  }
  return { at, end }
}

/** Packs a stretch whose summary is known. */
export function packChunk(stretch: Stretch, { lowUtcUs, highUtcUs, firstSeq }: ChunkSummary): Buffer {
  const { count, seq, utcUs, monoUs, value } = stretch
  const leadUs = monoUs[0]! - utcUs[0]!
  const { list, places } = kindsOf(stretch)
  const shape: Shape = {
    count,
    kinds: list.length / 2,
    time: highUtcUs - lowUtcUs > 0xffffffff ? 8 : 4,
    mono: monoWidth(stretch, leadUs),
    seq: widestGap(stretch) > 0xffff ? 4 : 2,
    kind: list.length === 2 ? 0 : list.length <= 512 ? 1 : list.length <= 131_072 ? 2 : 4,
  }
  const { at, end } = layout(shape)
  const body = new ArrayBuffer(end)
  const head = new DataView(body)
  head.setUint32(0, count, true)
  head.setUint32(4, shape.time | (shape.mono << 4) | (shape.seq << 8) | (shape.kind << 12), true)
  head.setFloat64(8, lowUtcUs, true)
  head.setFloat64(16, leadUs, true)
  head.setUint32(24, shape.kinds, true)
  new Float64Array(body, HEAD, count).set(value.subarray(0, count))
  // Worked out in doubles and narrowed as a whole: a loop that stores into one of several kinds of array is slow.
  const wide = new Float64Array(count)
  for (let i = 0; i < count; i++) wide[i] = utcUs[i]! - lowUtcUs
  new UNSIGNED[shape.time](body, at.time, count).set(wide)
  if (shape.mono !== 0) {
    for (let i = 0; i < count; i++) wide[i] = monoUs[i]! - utcUs[i]! - leadUs
    new SIGNED[shape.mono](body, at.mono, count).set(wide)
  }
  wide[0] = seq[0]! - firstSeq
  for (let i = 1; i < count; i++) wide[i] = seq[i]! - seq[i - 1]!
  new UNSIGNED[shape.seq](body, at.seq, count).set(wide)
  new Uint32Array(body, at.kinds, list.length).set(list)
  if (shape.kind !== 0) new UNSIGNED[shape.kind](body, at.kind, count).set(places)
  return Buffer.from(body)
}

function widestGap({ count, seq }: Stretch): number {
  let widest = 0
  for (let i = 1; i < count; i++) {
    const gap = seq[i]! - seq[i - 1]!
    if (gap > widest) widest = gap
  }
  return widest
}

function monoWidth({ count, utcUs, monoUs }: Stretch, leadUs: number): Width | 0 {
  let largest = 0
  for (let i = 1; i < count; i++) {
    const off = Math.abs(monoUs[i]! - utcUs[i]! - leadUs)
    if (off > largest) largest = off
  }
  return largest === 0 ? 0 : largest <= 0x7f ? 1 : largest <= 0x7fffffff ? 4 : 8
}

/** Sources and marks, two numbers for each kind, and the place of each reading's kind; none where there is one only. */
function kindsOf({ count, source, marks }: Stretch): { list: number[]; places: number[] } {
  const firstSource = source[0]!
  const firstMarks = marks[0]!
  const list = [firstSource, firstMarks]
  let alike = 1
  while (alike < count && source[alike] === firstSource && marks[alike] === firstMarks) alike++
  if (alike === count) return { list, places: [] }
  const known = new Map<number, number>()
  list.length = 0
  const places: number[] = []
  for (let i = 0; i < count; i++) {
    // No file has so many sources that the two do not fit into the 53 bits of a whole number: marks take 31.
    const key = source[i]! * 2 ** 31 + marks[i]!
    let place = known.get(key)
    if (place === undefined) {
      place = known.size
      known.set(key, place)
      list.push(source[i]!, marks[i]!)
    }
    places.push(place)
  }
  return { list, places }
}

/** Opens a packed chunk. Throws RangeError where the bytes cannot be one. */
export function openChunk(packed: Uint8Array): OpenChunk {
  // Typed arrays need their own alignment, which a slice of a pooled buffer may not have.
  const body = packed.byteOffset % 8 === 0 ? packed : new Uint8Array(packed)
  const { byteOffset, byteLength } = body
  const buffer = body.buffer as ArrayBuffer
  if (byteLength < HEAD) throw new RangeError('chunk is cut short')
  const head = new DataView(buffer, byteOffset)
  const bits = head.getUint32(4, true)
  const shape = {
    count: head.getUint32(0, true),
    kinds: head.getUint32(24, true),
    time: widthOf(bits & 15),
    mono: widthOf((bits >> 4) & 15, true),
    seq: widthOf((bits >> 8) & 15),
    kind: widthOf((bits >> 12) & 15, true),
  } as Shape
  const { count, time, mono, seq, kind } = shape
  const { at, end } = layout(shape)
  if (bits > 0xffff || byteLength !== end) throw new RangeError('chunk has a wrong length')
  const kinds = new Uint32Array(buffer, byteOffset + at.kinds, 2 * shape.kinds)
  const place = kind === 0 ? undefined : new UNSIGNED[kind](buffer, byteOffset + at.kind, count)
  if (shape.kinds < 1 || place?.some((k) => k >= shape.kinds)) throw new RangeError('chunk has a wrong kind')
  return {
    count,
    baseUtcUs: head.getFloat64(8, true),
    value: new Float64Array(buffer, byteOffset + HEAD, count),
    time: new UNSIGNED[time](buffer, byteOffset + at.time, count),
    leadUs: head.getFloat64(16, true),
    mono: mono === 0 ? undefined : new SIGNED[mono](buffer, byteOffset + at.mono, count),
    seqGap: new UNSIGNED[seq](buffer, byteOffset + at.seq, count),
    kinds,
    kind: place,
  }
}

function widthOf(bits: number, mayLack = false): Width | 0 {
  if (bits === 1 || bits === 2 || bits === 4 || bits === 8 || (mayLack && bits === 0)) return bits
  throw new RangeError('chunk has a wrong shape')
}

/** 1 at each reading of a chunk that has one of these marks; undefined where none has. */
export function markedIn({ count, kinds, kind }: OpenChunk, bits: number): Uint8Array | undefined {
  const places = Array.from({ length: kinds.length / 2 }, (_, k) =>
    (kinds[2 * k + 1]! & bits) !== 0 ? 1 : 0,
  )
  if (!places.includes(1)) return undefined
  const marked = new Uint8Array(count)
  if (kind === undefined) return marked.fill(1)
  for (let i = 0; i < count; i++) marked[i] = places[kind[i]!]!
  return marked
}
