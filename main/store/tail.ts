import type { Stretch } from './chunk.ts'

/** Readings of a channel that are in the log and in no chunk yet. */
export class Tail {
  /** Growing columns; only the first `count` are meant. */
  readonly stretch: Stretch = {
    count: 0,
    seq: new Float64Array(64),
    utcUs: new Float64Array(64),
    monoUs: new Float64Array(64),
    value: new Float64Array(64),
    source: new Uint32Array(64),
    marks: new Uint32Array(64),
    allMarks: 0,
  }

  add(seq: number, utcUs: number, monoUs: number, value: number, source: number, marks: number): void {
    const s = this.stretch
    const at = s.count
    if (at === s.seq.length) this.#grow()
    s.seq[at] = seq
    s.utcUs[at] = utcUs
    s.monoUs[at] = monoUs
    s.value[at] = value
    s.source[at] = source
    s.marks[at] = marks
    s.allMarks |= marks
    s.count = at + 1
  }

  /** Forgets everything up to `seq`, which now lies in a chunk. */
  dropTo(seq: number): void {
    const s = this.stretch
    let keep = 0
    while (keep < s.count && s.seq[keep]! <= seq) keep++
    const { count } = s
    for (const column of [s.seq, s.utcUs, s.monoUs, s.value, s.source, s.marks])
      column.copyWithin(0, keep, count)
    s.count = count - keep
    s.allMarks = 0
    for (let i = 0; i < s.count; i++) s.allMarks |= s.marks[i]!
  }

  #grow(): void {
    const s = this.stretch
    const length = 2 * s.seq.length
    const grown = <T extends Float64Array | Uint32Array>(larger: T, column: T): T => {
      larger.set(column)
      return larger
    }
    s.seq = grown(new Float64Array(length), s.seq)
    s.utcUs = grown(new Float64Array(length), s.utcUs)
    s.monoUs = grown(new Float64Array(length), s.monoUs)
    s.value = grown(new Float64Array(length), s.value)
    s.source = grown(new Uint32Array(length), s.source)
    s.marks = grown(new Uint32Array(length), s.marks)
  }
}
