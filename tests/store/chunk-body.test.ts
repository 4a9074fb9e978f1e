import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { summarise } from '../../main/store/chunk.ts'
import { markedIn, openChunk, packChunk } from '../../main/store/chunk-body.ts'
import { Tail } from '../../main/store/tail.ts'

interface Row {
  gap: number
  utcUs: number
  monoUs: number
  value: number
  source: number
  marks: number
}

/** Rows that share what real ones share, or nothing at all: each column comes in each of its widths. */
const rows = fc
  .record({
    span: fc.constantFrom(0, 1000, 4e9, 4e15),
    jitter: fc.constantFrom(0, 100, 1e6, 4e13),
    gaps: fc.constantFrom(1, 60_000, 1e6),
    sources: fc.constantFrom(1, 4, 1000, 1e6),
    marks: fc.constantFrom(0, 3, 2 ** 31 - 1),
    length: fc.constantFrom(1, 5, 400),
    seed: fc.integer({ min: 0, max: 1e9 }),
  })
  .map(({ span, jitter, gaps, sources, marks, length, seed }): Row[] => {
    let state = seed
    const upTo = (most: number) => {
      state = (state * 48_271 + 11) % 2_147_483_647
      return most === 0 ? 0 : Math.floor((state / 2_147_483_647) * most)
    }
    return Array.from({ length }, () => {
      const utcUs = upTo(span)
      return {
        gap: 1 + upTo(gaps),
        utcUs,
        monoUs: utcUs + 123_456 + upTo(jitter) - Math.floor(jitter / 2),
        value: [Number.NaN, Number.POSITIVE_INFINITY, -0, 1.25e-7 * upTo(1e6)][upTo(4)]!,
        source: 1 + upTo(sources),
        marks: upTo(marks),
      }
    })
  })

describe('packChunk', () => {
  it('keeps every column of every reading, in whatever widths they need', () => {
    fc.assert(
      fc.property(rows, (list) => {
        const tail = new Tail()
        let seq = 0
        for (const r of list) {
          seq += r.gap
          tail.add(seq, r.utcUs, r.monoUs, r.value, r.source, r.marks)
        }
        const packed = packChunk(tail.stretch, summarise(tail.stretch))
        const open = openChunk(packed)
        let at = tail.stretch.seq[0]!
        const again = Array.from({ length: open.count }, (_, i): Row => {
          const kind = open.kind?.[i] ?? 0
          const utcUs = open.baseUtcUs + open.time[i]!
          const before = at
          at += open.seqGap[i]!
          return {
            gap: i === 0 ? list[0]!.gap : at - before,
            utcUs,
            monoUs: utcUs + open.leadUs + (open.mono?.[i] ?? 0),
            value: open.value[i]!,
            source: open.kinds[2 * kind]!,
            marks: open.kinds[2 * kind + 1]!,
          }
        })
        expect(again).toEqual(list)
        const marked = markedIn(open, 5)
        expect(list.map(({ marks }) => ((marks & 5) !== 0 ? 1 : 0))).toEqual(
          marked ? [...marked] : list.map(() => 0),
        )
      }),
      { numRuns: 300 },
    )
  })

  it('takes 14 bytes a reading where clock, source and marks do not change', () => {
    const tail = new Tail()
    for (let i = 0; i < 1000; i++) tail.add(1 + 96 * i, 1e6 * i, 1e6 * i + 7, i, 3, 0)
    expect(packChunk(tail.stretch, summarise(tail.stretch)).length).toBe(32 + 8 + 14 * 1000)
  })
})

describe('the columns of a chunk', () => {
  /** Bytes beside the head, the values and the kinds. */
  const bytesOf = (list: readonly Partial<Record<'seq' | 'utcUs' | 'monoUs' | 'source', number>>[]) => {
    const tail = new Tail()
    for (const [i, { seq = 1 + i, utcUs = 0, monoUs = utcUs, source = 1 }] of list.entries())
      tail.add(seq, utcUs, monoUs, 0, source, 0)
    const packed = packChunk(tail.stretch, summarise(tail.stretch))
    const { count, kinds } = openChunk(packed)
    return (packed.length - 32 - 8 * count - 4 * kinds.length) / count
  }
  /** A reading takes four bytes of time and two of seq where nothing asks for more. */
  const LEAST = 6

  it('are as wide as their largest number and no wider', () => {
    const two = (more: Parameters<typeof bytesOf>[0][number]) => bytesOf([{}, more]) - LEAST
    expect(two({})).toBe(0)
    expect([two({ utcUs: 2 ** 32 - 1 }), two({ utcUs: 2 ** 32 })]).toEqual([0, 4])
    expect([two({ seq: 2 ** 16 }), two({ seq: 2 ** 16 + 1 })]).toEqual([0, 2])
    for (const sign of [1, -1]) {
      const mono = (off: number) => two({ utcUs: 0, monoUs: sign * off })
      expect([1, 127, 128, 2 ** 31 - 1, 2 ** 31].map(mono)).toEqual([1, 1, 4, 4, 8])
    }
  })

  it('name kinds with a byte up to 256 of them, with two up to 65536 and with four beyond', () => {
    const kinds = (count: number) => bytesOf(Array.from({ length: count }, (_, i) => ({ source: 1 + i })))
    expect([2, 256, 257, 65_536, 65_537].map((count) => kinds(count) - LEAST)).toEqual([1, 1, 2, 2, 4])
  })
})

describe('openChunk', () => {
  it('refuses bytes that cannot be a chunk', () => {
    const tail = new Tail()
    for (let i = 0; i < 100; i++) tail.add(1 + i, i, i, i, 1 + (i % 3), i % 2)
    const packed = packChunk(tail.stretch, summarise(tail.stretch))
    expect(() => openChunk(packed.subarray(0, 20))).toThrow(/cut short/)
    expect(() => openChunk(packed.subarray(0, packed.length - 8))).toThrow(/wrong length/)
    const spoilt = (at: number, byte: number) => {
      const bytes = Buffer.from(packed)
      bytes[at] = byte
      return bytes
    }
    expect(() => openChunk(spoilt(4, 0x03))).toThrow(/wrong shape/)
    expect(() => openChunk(spoilt(0, 99))).toThrow(/wrong length/)
    expect(() => openChunk(spoilt(packed.length - 1, 200))).toThrow(/wrong kind/)
  })
})
