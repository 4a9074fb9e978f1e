import { describe, expect, it } from 'vitest'
import { undoable, withUndo } from '../../../renderer/text/undo.ts'

describe('withUndo', () => {
  const reduce = withUndo((n: number, act: { do: 'add'; by: number }) => n + act.by)

  it('goes back and forth, and forgets the future after a new act', () => {
    let state = undoable(0)
    state = reduce(state, { do: 'add', by: 1 })
    state = reduce(state, { do: 'add', by: 2 })
    state = reduce(state, { do: 'undo' })
    expect(state.now).toBe(1)
    state = reduce(state, { do: 'redo' })
    expect(state.now).toBe(3)
    state = reduce(reduce(state, { do: 'undo' }), { do: 'add', by: 10 })
    expect(state.now).toBe(11)
    expect(reduce(state, { do: 'redo' })).toBe(state)
  })

  it('keeps no step that changed nothing', () => {
    const state = undoable(5)
    expect(reduce(state, { do: 'add', by: 0 })).toBe(state)
    expect(reduce(state, { do: 'undo' })).toBe(state)
  })
})
