import { describe, expect, it } from 'vitest'
import { type Columns, packColumns, unpackColumns } from '../../../app/contract/columns.ts'

describe('columns in one buffer', () => {
  const columns: Columns = {
    marks: Uint8Array.of(1, 2, 255),
    celsius: Float64Array.of(0.1, -273.15, Number.NaN),
    ohm: Float32Array.of(0.5, -0.25, 4),
    step: Int32Array.of(-1, 0, 2 ** 31 - 1),
    seq: Uint32Array.of(0, 1, 2 ** 32 - 1),
    words: ['a', 'größer', ''],
    none: new Float64Array(0),
    noWords: [],
  }
  const packed = packColumns(columns, { from: 3 })

  it('come out as they went in, each of its own kind, with what was said beside them', () => {
    const { columns: found, meta } = unpackColumns(packed.buffer)
    expect(found).toEqual(columns)
    expect(meta).toEqual({ from: 3 })
    expect(unpackColumns(packColumns({}).buffer)).toEqual({ columns: {}, meta: null })
  })

  it('take only what a view shows of a larger array', () => {
    const all = Float64Array.of(1, 2, 3, 4)
    expect(unpackColumns(packColumns({ x: all.subarray(1, 3) }).buffer).columns.x).toEqual(
      Float64Array.of(2, 3),
    )
  })

  it('lie as the head says: little-endian, each at a multiple of eight bytes', () => {
    const view = new DataView(packed.buffer)
    expect(String.fromCharCode(...packed.subarray(0, 4))).toBe('SPC1')
    const headLength = view.getUint32(4, true)
    const head = JSON.parse(new TextDecoder().decode(packed.subarray(8, 8 + headLength))) as {
      columns: { name: string; type: string; length: number; offset: number; bytes: number }[]
    }
    const start = Math.ceil((8 + headLength) / 8) * 8
    expect(head.columns.map(({ name, type, length, bytes }) => [name, type, length, bytes])).toEqual([
      ['marks', 'u8', 3, 3],
      ['celsius', 'f64', 3, 24],
      ['ohm', 'f32', 3, 12],
      ['step', 'i32', 3, 12],
      ['seq', 'u32', 3, 12],
      ['words', 'text', 3, 11],
      ['none', 'f64', 0, 0],
      ['noWords', 'text', 0, 0],
    ])
    for (const { offset } of head.columns) expect(offset % 8).toBe(0)
    const at = (name: string) => start + head.columns.find((c) => c.name === name)!.offset
    expect(view.getFloat64(at('celsius') + 8, true)).toBe(-273.15)
    expect(view.getUint32(at('seq') + 8, true)).toBe(2 ** 32 - 1)
    expect(packed.byteLength % 8).toBe(0)
  })

  it('are refused where they are something else or cut short', () => {
    const buffer = packed.buffer
    expect(() => unpackColumns(new ArrayBuffer(0))).toThrow(/not a column buffer/)
    expect(() => unpackColumns(new ArrayBuffer(7))).toThrow(/not a column buffer/)
    expect(() => unpackColumns(new ArrayBuffer(64))).toThrow(/not a column buffer/)
    expect(() => unpackColumns(buffer.slice(0, 16))).toThrow(/cut short/)
    expect(() => unpackColumns(buffer.slice(0, buffer.byteLength - 8))).toThrow(/cut short/)
  })
})
