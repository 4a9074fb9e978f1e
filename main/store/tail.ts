import type { Stretch } from './chunk.ts'

/** Readings of a channel that are in the log and in no chunk yet. */
export class Tail {
  /** Growing columns; only the first `count` are meant. */
  readonly stretch: Stretch = {
    count: 0,
    seq: new Float64Array(64),
    utcUs: new Float64Array(64),
    value: new Float64Array(64),
  }

  add(seq: number, utcUs: number, value: number): void {
    const s = this.stretch
    const at = s.count
    if (at === s.seq.length) {
      s.seq = grown(s.seq)
      s.utcUs = grown(s.utcUs)
      s.value = grown(s.value)
    }
    s.seq[at] = seq
    s.utcUs[at] = utcUs
    s.value[at] = value
    s.count = at + 1
  }

  /** Forgets everything up to `seq`, which now lies in a chunk. */
  dropTo(seq: number): void {
    const s = this.stretch
    let keep = 0
    while (keep < s.count && s.seq[keep]! <= seq) keep++
    s.seq.copyWithin(0, keep, s.count)
    s.utcUs.copyWithin(0, keep, s.count)
    s.value.copyWithin(0, keep, s.count)
    s.count -= keep
  }
}

function grown(column: Float64Array<ArrayBuffer>): Float64Array<ArrayBuffer> {
  const larger = new Float64Array(2 * column.length)
  larger.set(column)
  return larger
}
