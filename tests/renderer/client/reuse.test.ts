import { describe, expect, it } from 'vitest'
import { reuse } from '../../../renderer/client/reuse.ts'

describe('reuse', () => {
  it('keeps the identity of what is equal and gives what is new', () => {
    const old = { a: { n: 1 }, list: [{ id: 1 }, { id: 2 }] }
    const next = reuse(old, { a: { n: 1 }, list: [{ id: 1 }, { id: 3 }] })
    expect(next).not.toBe(old)
    expect(next.a).toBe(old.a)
    expect(next.list[0]).toBe(old.list[0])
    expect(next.list[1]).toEqual({ id: 3 })
    expect(reuse(old, structuredClone(old))).toBe(old)
  })

  it('sees a part that is gone, one that came and a longer list', () => {
    expect(reuse<object>({ a: 1, b: 2 }, { a: 1 })).toEqual({ a: 1 })
    expect(reuse<object>({ a: 1 }, { a: 1, b: undefined })).toHaveProperty('b')
    expect(reuse([1], [1, 2])).toEqual([1, 2])
    expect(reuse<unknown>(null, { a: 1 })).toEqual({ a: 1 })
  })
})
