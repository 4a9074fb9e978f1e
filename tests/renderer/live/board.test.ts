import { describe, expect, it } from 'vitest'
import { packColumns, unpackColumns } from '../../../app/contract/columns.ts'
import { LiveBoard } from '../../../renderer/live/board.ts'

function answer(session: string, first: number, values: number[]) {
  const n = values.length
  const packed = packColumns(
    {
      seq: Uint32Array.from(values, (_, i) => first + i),
      channel: new Uint8Array(n).map((_, i) => i % 2),
      utcS: Float64Array.from(values, (_, i) => first + i),
      monoS: new Float64Array(n),
      raw: Float64Array.from(values),
      resistance: Float64Array.from(values),
      temperature: Float64Array.from(values),
      marks: new Uint32Array(n),
    },
    { session, channels: ['a', 'b'], last: first + n - 1 },
  )
  return unpackColumns(packed.buffer)
}

describe('LiveBoard', () => {
  it('puts readings into the rings of their channels and asks on from the last', () => {
    const board = new LiveBoard()
    const { columns, meta } = answer('s1', 1, [10, 20, 11, 21])
    expect(board.take(columns, meta)).toBe(4)
    expect(board.after).toBe(4)
    expect(board.rings.get('a')?.newest('raw')).toBe(11)
    expect(board.rings.get('b')?.newest('raw')).toBe(21)
    expect(board.newestTime).toBe(4)
  })

  it('begins anew with another session, and asks again for what came under the old number', () => {
    const board = new LiveBoard()
    const first = answer('s1', 500, [1, 2])
    board.take(first.columns, first.meta)
    const generation = board.generation
    const second = answer('s2', 1, [7])
    expect(board.take(second.columns, second.meta)).toBe(0)
    expect(board.after).toBe(0)
    board.take(second.columns, second.meta)
    expect(board.after).toBe(1)
    expect(board.rings.get('a')?.length).toBe(1)
    expect(board.generation).toBe(generation + 1)
  })
  it('tells whoever listens when another session empties the rings', () => {
    const board = new LiveBoard()
    let told = 0
    const end = board.onDidClear(() => {
      told += 1
    })
    const first = answer('s', 1, [1, 2])
    board.take(first.columns, first.meta)
    expect(told).toBe(1)
    end()
    board.clear('t')
    expect(told).toBe(1)
  })

  it("keeps what it has where numbers are left out, as those of readings that are no channel's", () => {
    const board = new LiveBoard()
    for (const first of [1, 10, 20]) {
      const { columns, meta } = answer('s', first, [1, 2])
      board.take(columns, meta)
    }
    expect(board.rings.get('a')?.length).toBe(3)
  })

  it('takes the readings of a core that was started again into the same rings', () => {
    const board = new LiveBoard()
    const before = answer('s', 1, [1, 2])
    board.take(before.columns, before.meta)
    // A new core remembers no reading yet and counts on from the record.
    board.take(
      { ...before.columns, seq: new Uint32Array(0), utcS: new Float64Array(0) },
      { session: 's', channels: ['a', 'b'], last: 0 },
    )
    expect(board.after).toBe(0)
    const next = answer('s', 3, [3, 4])
    board.take(next.columns, next.meta)
    expect(board.rings.get('a')?.length).toBe(2)
    expect(board.after).toBe(4)
  })
})
