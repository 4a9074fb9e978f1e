import { describe, expect, it } from 'vitest'
import { undoable, withUndo } from '../../../renderer/text/undo.ts'

type Act = { do: 'add'; by: number } | { do: 'type'; field: string; to: number }

describe('withUndo', () => {
  const reduce = withUndo(
    (n: number, act: Act) => (act.do === 'add' ? n + act.by : act.to),
    (_n, act) =>
      act.do === 'add' ? { words: `${act.by} more` } : { words: `the ${act.field}`, typing: act.field },
  )

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

  it('says of each step, back and forth, what it is', () => {
    let state = reduce(undoable(0), { do: 'add', by: 1 })
    state = reduce(state, { do: 'add', by: 2 })
    expect(state.past.map(({ words }) => words)).toEqual(['1 more', '2 more'])
    state = reduce(state, { do: 'undo' })
    expect(state.future.map(({ words }) => words)).toEqual(['2 more'])
    expect(reduce(state, { do: 'redo' }).past.at(-1)?.words).toBe('2 more')
  })

  it('takes back what was typed into one field as a whole, and never with what was typed elsewhere', () => {
    let state = undoable(0)
    for (const to of [9, 99, 997]) state = reduce(state, { do: 'type', field: 'current', to })
    state = reduce(state, { do: 'type', field: 'input', to: 4 })
    expect(state.past).toHaveLength(2)
    state = reduce(state, { do: 'undo' })
    expect(state.now).toBe(997)
    expect(reduce(state, { do: 'undo' }).now).toBe(0)
    expect(reduce(state, { do: 'type', field: 'current', to: 5 }).past).toHaveLength(2)
  })

  it('keeps no step that changed nothing, and no more than the last 200', () => {
    const state = undoable(5)
    expect(reduce(state, { do: 'add', by: 0 })).toBe(state)
    expect(reduce(state, { do: 'undo' })).toBe(state)
    let long = state
    for (let i = 0; i < 250; i++) long = reduce(long, { do: 'add', by: 1 })
    expect(long.past).toHaveLength(200)
    expect(long.past[0]!.state).toBe(55)
  })
})
