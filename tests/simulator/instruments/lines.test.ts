import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { LineCutter } from '../../../simulator/instruments/lines.ts'

/** What must come of the whole text at once, by the rule alone. */
const byRule = (text: string, end: RegExp, longest: number) =>
  text
    .split(end)
    .slice(0, -1)
    .map((line) => (line.length > longest ? undefined : line))

describe('the lab cuts lines', () => {
  it('at one terminator, empty and over-long ones too, however the bytes come', () => {
    fc.assert(
      fc.property(
        fc.constantFrom('\r' as const, '\n' as const),
        fc.array(fc.stringMatching(/^[ -~\x80-\xff]{0,12}$/), { maxLength: 20 }),
        fc.stringMatching(/^[ -~]{0,6}$/),
        fc.array(fc.nat(30), { minLength: 1, maxLength: 20 }),
        (end, lines, rest, cuts) => {
          const text = lines.map((line) => line + end).join('') + rest
          const cutter = new LineCutter(end, 8)
          const found: (string | undefined)[] = []
          for (let at = 0, i = 0; at < text.length; i++) {
            const n = 1 + cuts[i % cuts.length]!
            found.push(...cutter.take(text.slice(at, at + n)))
            at += n
          }
          expect(found).toEqual(byRule(text, end === '\r' ? /\r/ : /\n/, 8))
        },
      ),
    )
  })

  it('at any of three where an instrument takes them all, and holds nothing of a line without end', () => {
    const cutter = new LineCutter('any', 8)
    expect([...cutter.take('A\r\nB\rC\nD')]).toEqual(['A', 'B', 'C'])
    for (let i = 0; i < 1000; i++) expect([...cutter.take('x'.repeat(1000))]).toEqual([])
    expect([...cutter.take('\nE\n')]).toEqual([undefined, 'E'])
    cutter.take('half').next()
    cutter.clear()
    expect([...cutter.take('whole\n')]).toEqual(['whole'])
  })
})
