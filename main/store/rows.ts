import { entryOf } from '../../app/base/lists.ts'
import { said } from '../../app/messages/said.ts'
import { HIDDEN_MARKS, MARK_NAMES, type Mark } from '../../app/records/mark.ts'
import { RawUnit, type Reading } from '../../app/records/reading.ts'
import { SAME } from './batch-rows.ts'
import { isDamage, StoreError } from './errors.ts'
import type { Db } from './sqlite.ts'

/** Columns of a row of the log as they are read, in this order. */
export type LogRow = [
  seq: number,
  source: number,
  utcUs: number,
  monoUs: number,
  raw: string,
  value: string | null,
  marks: number,
]
export const LOG_COLUMNS = 'seq, source, utc_us, mono_us, raw, value, marks'

export interface Source {
  readonly id: number
  readonly channel: string
  readonly unit: Reading['unit']
  readonly currentMa: number | null
  /** Id of the channel's first source: the channel's number within the file. */
  readonly channelNumber: number
}

/** The file's own numbering of marks, and of what its readings come from. Both only grow. */
export class Numbering {
  readonly sources: Source[] = []
  readonly marks: { bit: number; name: Mark }[] = []
  readonly #ofChannel = new Map<string, Source[]>()
  readonly #bits = new Map<string, number>()
  /** Sources are damaged; those that are missing have somebody to stand in for them. */
  #lacking = false
  readonly #standIns = new Map<number, Source>()
  readonly #marksOf = new Map<number, Mark[]>([[0, []]])

  /** Where a part cannot be read, `lost` is told in words and the rest goes on; without it, that is an error. */
  static read(db: Db, lost?: (words: string) => void): Numbering {
    const numbering = new Numbering()
    const canRead = (read: () => void, words: string): boolean => {
      try {
        read()
        return true
      } catch (fault) {
        if (!lost || !isDamage(fault)) throw fault
        lost(words)
        return false
      }
    }
    canRead(
      () => numbering.#readMarks(db),
      `The names of the marks in ${db.name} cannot all be read any more: readings come without those.`,
    )
    numbering.#lacking = !canRead(
      () => numbering.readSources(db),
      `What the readings in ${db.name} come from cannot all be read any more: "source 2" stands for the second of them.`,
    )
    return numbering
  }

  #readMarks(db: Db): void {
    for (const { bit, name } of db.prepare('SELECT bit, name FROM mark ORDER BY bit').all() as {
      bit: number
      name: string
    }[])
      this.addMark(bit, name as Mark)
  }

  /** Takes up sources that a writer has added since. */
  readSources(db: Db): void {
    if (this.#lacking) return
    const rows = db
      .prepare('SELECT id, channel, unit, current_ma FROM source WHERE id > ? ORDER BY id')
      .raw()
      .all(this.sources.length) as [number, string, string, number | null][]
    for (const [id, channel, unit, currentMa] of rows) {
      if (id !== this.sources.length + 1)
        throw new StoreError(
          'damaged',
          said('source-row-missing', { db: db.name, source: this.sources.length + 1 }),
        )
      const known = RawUnit.safeParse(unit)
      if (!known.success)
        throw new StoreError('damaged', said('source-unit-unknown', { db: db.name, id, unit }))
      this.addSource(channel, known.data, currentMa)
    }
  }

  addMark(bit: number, name: Mark): void {
    this.marks.push({ bit, name })
    this.#bits.set(name, bit)
  }

  /** Marks this program knows and the file does not yet. */
  missingMarks(): { bit: number; name: Mark }[] {
    const fresh = MARK_NAMES.filter((name) => !this.#bits.has(name))
    const first = this.marks.reduce((next, { bit }) => Math.max(next, bit + 1), 0)
    return fresh.map((name, i) => ({ bit: first + i, name }))
  }

  find(channel: string, unit: string, currentMa: number | null): Source | undefined {
    const known = this.#ofChannel.get(channel)
    if (known)
      for (const source of known) if (source.unit === unit && source.currentMa === currentMa) return source
    return undefined
  }

  addSource(channel: string, unit: Reading['unit'], currentMa: number | null): Source {
    const known = this.#ofChannel.get(channel)
    const id = this.sources.length + 1
    const source: Source = { id, channel, unit, currentMa, channelNumber: known?.[0]?.channelNumber ?? id }
    if (known) known.push(source)
    else this.#ofChannel.set(channel, [source])
    this.sources.push(source)
    return source
  }

  get sizes(): { sources: number; marks: number } {
    return { sources: this.sources.length, marks: this.marks.length }
  }

  /** Takes back what was added for a batch that was not stored. */
  dropTo(keep: { sources: number; marks: number }): void {
    while (this.marks.length > keep.marks) this.#bits.delete(this.marks.pop()!.name)
    while (this.sources.length > keep.sources) {
      const source = this.sources.pop()!
      const known = entryOf(this.#ofChannel, source.channel)
      known.pop()
      if (known.length === 0) this.#ofChannel.delete(source.channel)
    }
  }

  channels(): string[] {
    return [...this.#ofChannel.keys()]
  }

  sourcesOf(channel: string): readonly Source[] {
    return this.#ofChannel.get(channel) ?? []
  }

  bits(marks: readonly Mark[]): number {
    let bits = 0
    for (const mark of marks) {
      const bit = this.#bits.get(mark)
      if (bit === undefined) throw new StoreError('refused', said('mark-unknown', { mark }))
      bits |= 1 << bit
    }
    return bits
  }

  /** Bits of those of the marks that the file knows: no reading in it can have the others. */
  knownBits(marks: readonly Mark[]): number {
    let bits = 0
    for (const mark of marks) {
      const bit = this.#bits.get(mark)
      if (bit !== undefined) bits |= 1 << bit
    }
    return bits
  }

  /** Bits of the marks whose readings belong into no picture. */
  get hiddenBits(): number {
    return this.knownBits(HIDDEN_MARKS)
  }

  marksOf(bits: number): Mark[] {
    let marks = this.#marksOf.get(bits)
    if (!marks) {
      marks = this.marks.filter(({ bit }) => bits & (1 << bit)).map(({ name }) => name)
      this.#marksOf.set(bits, marks)
    }
    return marks
  }

  /** The source that a reading names. */
  sourceOf(id: number, seq: number): Source {
    const source = this.sources[id - 1] ?? (this.#lacking ? this.#standIn(id) : undefined)
    if (!source) throw new StoreError('damaged', said('reading-without-source', { seq, id }))
    return source
  }

  #standIn(id: number): Source {
    let source = this.#standIns.get(id)
    if (!source) {
      source = { id, channel: `source ${id}`, unit: '1', currentMa: null, channelNumber: id }
      this.#standIns.set(id, source)
    }
    return source
  }

  toReading(row: LogRow): Reading {
    const source = this.sourceOf(row[1], row[0])
    return {
      seq: row[0],
      channel: source.channel,
      utcUs: row[2],
      monoUs: row[3],
      raw: row[4],
      value: row[5] === SAME ? row[4] : row[5],
      unit: source.unit,
      marks: this.marksOf(row[6]),
      currentMa: source.currentMa,
    }
  }
}

/** A reading's value as a number for pictures and statistics; NaN where it has none. The text stays the truth. */
export const numberOf = (raw: string, value: string | null): number =>
  value === null ? Number.NaN : Number(value === SAME ? raw : value)
