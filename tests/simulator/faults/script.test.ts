import { describe, expect, it } from 'vitest'
import { FaultError } from '../../../simulator/faults/order.ts'
import { parseFaultScript } from '../../../simulator/faults/script.ts'

describe('parseFaultScript', () => {
  it('reads one order per line and skips comments and empty lines', () => {
    const script = parseFaultScript(
      '# a bad night\n\n{"atS":60,"instrument":"bridge","kind":"silence","forS":30}\r\n{"instrument":"bath","kind":"no-cooling"}\n',
    )
    expect(script).toEqual([
      { atS: 60, instrument: 'bridge', kind: 'silence', forS: 30 },
      { instrument: 'bath', kind: 'no-cooling' },
    ])
  })

  const bad: [string, string, string][] = [
    ['{"instrument":', 'not-json', 'what is no JSON'],
    ['{"instrument":"bridge","kind":"sulk"}', 'not-an-order', 'a kind it does not know'],
    ['{"instrument":"bridge","kind":"late"}', 'not-an-order', 'a missing parameter'],
    ['{"instrument":"bridge","kind":"silence","by":3}', 'not-an-order', 'a parameter of another kind'],
    ['{"instrument":"bridge","kind":"silence","forS":-1}', 'not-an-order', 'a negative time'],
  ]
  for (const [line, code, what] of bad) {
    it(`refuses ${what} and names the line`, () => {
      const parse = () => parseFaultScript(`# first\n${line}\n`)
      expect(parse).toThrow(FaultError)
      expect(parse).toThrow(/^line 2: /)
      try {
        parse()
      } catch (error) {
        expect((error as FaultError).code).toBe(code)
      }
    })
  }
})
