import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { virtualLab } from './bench-client.ts'

/** How each instrument shows that it is still there, whatever came before. */
const ALIVE: Record<string, { ask: string; end: string; answer: RegExp; terminator: string }> = {
  bridge: { ask: '*IDN?', end: '\n', answer: /QUENNICK,RB-8,0817,1\.3\n$/, terminator: '\n' },
  scanner: { ask: '*IDN?', end: '\n', answer: /QUENNICK,CS-16,1604,2\.0\r\n$/, terminator: '\n' },
  bath: { ask: '*IDN?', end: '\n', answer: /QUENNICK,TB-2,2205,1\.1\n$/, terminator: '\n' },
  meter: { ask: '*IDN?', end: '\n', answer: /QUENNICK,DM-7,0704,3\.0\n$/, terminator: '\r\n' },
  'old-bridge': { ask: 'ID', end: '>', answer: /QUENNICK RB-3 0311 V3\.2\*60\r\n>$/, terminator: '\r' },
  'old-scanner': { ask: 'I*49', end: '\r', answer: /IQUENNICK CS-32 3207 V1\.4\*2E\r$/, terminator: '\r' },
  'old-bath': { ask: 'ID?', end: '\n', answer: /ID=QUENNICK TB-1 1107 V2\.3\r\n$/, terminator: '\r' },
}

/** Pieces of every language, so that fuzz goes deeper than unknown commands. */
const WORDS = [
  'ROUT:CLOS (@1)',
  'SENS:AVER:COUN',
  '*OPC?',
  '*WAI',
  'INIT',
  'FETC?',
  'READ?',
  'ABOR',
  '*TRG',
  ';',
  ',',
  ':',
  '(@',
  ')',
  '"',
  '1E-3',
  '-9.9E37',
  'SOUR:CURR 2E-3',
  'SYST:ERR?',
  'OUTP ON',
  'SOUR:TEMP:SPO 60',
  'CH 1',
  'GO',
  'RD',
  'CU',
  'C07*44',
  'SP=25,00',
  'HT=1',
  'PV?',
  '*',
  '\r',
  '\n',
  '\x05',
  '\0',
  'CONF:VOLT',
  'TRAC:DATA?',
  'TRIG:SOUR BUS',
  'KW 1 1',
]
const line = fc.array(fc.oneof(fc.constantFrom(...WORDS), fc.string({ unit: 'binary', maxLength: 6 })), {
  maxLength: 6,
})

describe('the instruments', () => {
  it('survive whatever is sent, however it is cut, and answer the next proper line', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(...Object.keys(ALIVE)),
        fc.array(line, { minLength: 1, maxLength: 5 }),
        fc.integer({ min: 1, max: 7 }),
        async (id, lines, cut) => {
          const { clock, client, end } = await virtualLab({ scenario: 'mixed' })
          try {
            const { ask, end: last, answer, terminator } = ALIVE[id]!
            const socket = await client(id)
            const text = lines.map((words) => words.join(' ')).join(terminator)
            for (let at = 0; at < text.length; at += cut) {
              socket.tell(text.slice(at, at + cut).replace(/[^\0-\xff]/g, '?'))
              await clock.sleep(7)
            }
            // One terminator ends what was begun; then everything that may be under way has time to end.
            socket.tell(terminator)
            await clock.sleep(120_000)
            socket.received = ''
            socket.tell(ask + terminator)
            await clock.sleep(2000)
            expect(socket.received.slice(0, 400)).toMatch(answer)
            expect(socket.received.endsWith(last)).toBe(true)
          } finally {
            await end()
          }
        },
      ),
      { numRuns: 300 },
    )
  })
})
