import { ReadlineParser } from '@serialport/parser-readline'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Framer } from '../../../drivers/link/framer.ts'

/** What the stock parser makes of the same chunks. */
function stock(chunks: readonly Buffer[], delimiter: string): string[] {
  const lines: string[] = []
  const parser = new ReadlineParser({ delimiter, encoding: 'latin1' })
  parser.on('data', (line: string) => lines.push(line))
  for (const chunk of chunks) parser.write(chunk)
  return lines
}

function own(chunks: readonly Buffer[], delimiter: string): string[] {
  const lines: string[] = []
  const framer = new Framer(
    { end: { kind: 'terminator', text: delimiter }, maxBytes: 4096, tokens: [], blocks: false },
    { frame: (text) => lines.push(text), overflow: () => lines.push('overflow') },
  )
  for (const chunk of chunks) framer.push(chunk)
  return lines
}

describe('Framer beside the stock line parser', () => {
  it('cuts the same lines from the same bytes, however they are cut into chunks', () => {
    fc.assert(
      fc.property(
        fc.constantFrom('\n', '\r', '\r\n'),
        fc.array(fc.stringMatching(/^[ -~]{1,40}$/), { maxLength: 20 }),
        fc.array(fc.nat(30), { minLength: 1, maxLength: 40 }),
        (delimiter, lines, cuts) => {
          let rest = Buffer.from(lines.map((line) => line + delimiter).join(''), 'latin1')
          const chunks: Buffer[] = []
          for (let i = 0; rest.length > 0; i++) {
            const n = 1 + cuts[i % cuts.length]!
            chunks.push(rest.subarray(0, n))
            rest = rest.subarray(n)
          }
          expect(own(chunks, delimiter)).toEqual(stock(chunks, delimiter))
          expect(own(chunks, delimiter)).toEqual(lines)
        },
      ),
      { numRuns: 2000 },
    )
  })
})
