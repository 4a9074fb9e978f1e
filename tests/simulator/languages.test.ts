import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { byteSum, byteXor } from '../../simulator/instruments/checksums.ts'
import { virtualLab } from './bench-client.ts'

/** Values that vary, by name, and the name of the instrument in the scenario with all of them. */
const SHAPES: Record<string, RegExp> = {
  ratio: /[+-]\d\.\d{9}E[+-]\d\d/,
  reading: /[+-]\d\.\d{8}RAT,[+-]\d\.\d{4}MA,[+-]\d{3}\.\d\dDEGC\*[0-9A-F]{2}/,
  stb: /\d{3}\*[0-9A-F]{2}/,
  celsius: /-?\d+\.\d{3}/,
  pv: /[ -]\d{3},\d\d[CF]/,
  ohm: /[+-]\d\.\d{7}E[+-]\d\d/,
  block: /237[+-]\d\.\d{7}E[+-]\d\d OHM\n[+-]\d\.\d{7}E[+-]\d\d OHM/,
  count: /\d{5}/,
  temperature: /[+-]\d+\.\d\d/,
  humidity: /\d+\.\d/,
  pressure: /\d+\.\d\d/,
  sum: /[0-9A-F]{2}/,
}
const IDS: Record<string, string> = {
  'rb-8': 'bridge',
  'rb-3': 'old-bridge',
  'cs-16': 'scanner',
  'cs-32': 'old-scanner',
  'tb-2': 'bath',
  'tb-1': 'old-bath',
  'dm-7': 'meter',
  'es-1': 'air',
}

const page = readFileSync(new URL('../../docs/lab-languages.md', import.meta.url), 'utf8')
const transcripts = [...page.matchAll(/```transcript (\S+)\n([\s\S]*?)```/g)].map(([, model, text]) => ({
  model: model!,
  lines: text!.trimEnd().split('\n'),
}))

function written(text: string): string {
  return text
    .replace(/\\x([0-9A-Fa-f]{2})/g, (_, hex: string) => String.fromCharCode(Number.parseInt(hex, 16)))
    .replaceAll('\\r', '\r')
    .replaceAll('\\n', '\n')
}

function pattern(text: string): RegExp {
  const parts = written(text).split(/(\{\w+\})/)
  const source = parts.map((part) => {
    const name = /^\{(\w+)\}$/.exec(part)?.[1]
    if (name === undefined) return part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')
    const shape = SHAPES[name]
    if (!shape) throw new Error(`no shape for {${name}}`)
    return `(?:${shape.source})`
  })
  return new RegExp(`^${source.join('')}$`)
}

describe('the languages page', () => {
  it('has a transcript for each of the eight instruments', () => {
    expect(transcripts.map(({ model }) => model).sort()).toEqual(Object.keys(IDS).sort())
  })

  for (const { model, lines } of transcripts) {
    it(`holds, line by line, against the ${model} of the lab`, async () => {
      const bench = await virtualLab({ scenario: 'mixed', seed: 3 })
      try {
        const client = await bench.client(IDS[model]!)
        if (model === 'dm-7') {
          // Its front input leads to the older scanner: connect a thermometer there.
          const scanner = await bench.client('old-scanner')
          await scanner.ask(`C00*${byteXor('C00')}\r`, '\r')
        }
        // Connected after power-up: a greeting is shown by switching it off and on.
        if (lines[0]!.startsWith('< ') && model !== 'es-1') {
          bench.lab.fault({ instrument: IDS[model]!, kind: 'power-cut', forS: 1 })
          await bench.clock.sleep(1001)
        }
        for (const line of lines) {
          if (line.startsWith('wait ')) await bench.clock.sleep(Number(line.slice(5)))
          else if (line.startsWith('> ')) client.tell(written(line.slice(2)))
          else {
            const expected = pattern(line.slice(2))
            const until = bench.clock.now().monoUs + 5e6
            while (!expected.test(client.received) && bench.clock.now().monoUs < until)
              await bench.clock.sleep(5)
            expect(client.received).toMatch(expected)
            client.received = ''
          }
        }
        await bench.clock.sleep(500)
        expect(client.received).toBe('')
      } finally {
        await bench.end()
      }
    })
  }

  it('sums the reply of the older bridge as it says', () => {
    expect(byteSum('+0.25512345RAT,+1.0000MA,+023.41DEGC')).toBe('A1')
  })
})
