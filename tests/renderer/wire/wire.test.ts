import { describe, expect, it } from 'vitest'
import {
  addLines,
  filterLines,
  linesText,
  MOST_LINES,
  typed,
  type WireLine,
  walk,
} from '../../../renderer/wire/wire.model.ts'

const line = (n: number, text = `line ${n}`): WireLine => ({
  n,
  instrument: 'bridge',
  utcUs: n,
  direction: 'sent',
  text,
})

describe('addLines', () => {
  it('lets the oldest go beyond its bound', () => {
    const kept = addLines(
      Array.from({ length: MOST_LINES }, (_, i) => line(i)),
      [line(-1)],
    )
    expect(kept).toHaveLength(MOST_LINES)
    expect(kept[0]!.n).toBe(1)
  })
})

describe('filterLines', () => {
  it('wants every word, in whatever case', () => {
    const lines = [line(1, 'FETC?'), line(2, '*IDN?')]
    expect(filterLines(lines, 'fetc BRIDGE')).toEqual([lines[0]])
    expect(filterLines(lines, ' ')).toBe(lines)
  })
})

describe('linesText', () => {
  it('writes the time in UTC and one line each', () => {
    expect(linesText([line(1_000_000, 'X')])).toBe('1970-01-01T00:00:01.000Z\tbridge\tsent\tX')
  })
})

describe('walk', () => {
  it('goes back through what was typed and forth to the empty line', () => {
    let history = typed(typed({ lines: [], at: 0 }, 'one'), 'two')
    const back = walk(history, -1)
    expect(back.line).toBe('two')
    history = walk(back.history, -1).history
    expect(walk(history, -1).line).toBe('one')
    expect(walk(walk(history, 1).history, 1).line).toBe('')
  })
})
