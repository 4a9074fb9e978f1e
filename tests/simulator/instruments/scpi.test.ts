import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { spellings } from '../../../simulator/instruments/scpi/headers.ts'
import { parseMessage } from '../../../simulator/instruments/scpi/message.ts'
import { nr2, nr3 } from '../../../simulator/instruments/scpi/numbers.ts'
import { type Bench, type RawClient, virtualLab } from '../bench-client.ts'

let bench: Bench
let bridge: RawClient

beforeEach(async () => {
  bench = await virtualLab({ scenario: 'mixed' })
  bridge = await bench.client('bridge')
})
afterEach(() => bench.end())

const error = async () => (await bridge.ask('SYST:ERR?\n')).trim()

describe('ScpiInstrument', () => {
  it('understands long and short forms, either case, with or without leading colon', async () => {
    for (const form of ['SENS:AVER:COUN?', ':sense:average:count?', 'Sense:AVER:count?']) {
      expect(await bridge.ask(`${form}\n`)).toBe('1\n')
    }
    bridge.tell('SENSe:AVERag:COUNt?\n')
    expect(await error()).toBe('-113,"Undefined header"')
  })

  it('continues the path after a semicolon, and common commands leave it alone', async () => {
    expect(await bridge.ask('SENS:AVER:COUN 7;*CLS;COUN?;:SYST:ERR?\n')).toBe('7;0,"No error"\n')
    bridge.tell('SENS:AVER:COUN 7;SENS:AVER:COUN 8\n')
    expect(await error()).toBe('-113,"Undefined header"')
    expect(await bridge.ask('SENS:AVER:COUN?\n')).toBe('7\n')
  })

  it('takes CR before LF for a blank and an empty line for nothing', async () => {
    expect(await bridge.ask('\r\n\n  \n*OPC?\r\n')).toBe('1\n')
    expect(await error()).toBe('0,"No error"')
  })

  it('finds a line however it is cut into pieces', async () => {
    for (const byte of 'SENS:AVER:COUN 9') {
      bridge.tell(byte)
      await bench.clock.sleep(1)
    }
    expect(await bridge.ask(';COUN?\n')).toBe('9\n')
  })

  const refusals: [string, string][] = [
    ['SENS:AVER:COUN 101', '-222,"Data out of range"'],
    ['SENS:AVER:COUN', '-109,"Missing parameter"'],
    ['SENS:AVER:COUN 1,2', '-108,"Parameter not allowed"'],
    ['SENS:AVER:COUN many', '-104,"Data type error"'],
    ['SOUR:CURR 1 OHM', '-131,"Invalid suffix"'],
    ['SOUR:CURR 30 MA', '-222,"Data out of range"'],
    ['ROUT:CLOS (@5)', '-222,"Data out of range"'],
    ['ROUT:CLOS (@1,2)', '-108,"Parameter not allowed"'],
    ['ROUT:CLOS 2', '-104,"Data type error"'],
    ['SENS:FUNC "FRES', '-102,"Syntax error"'],
    ['\u00c4', '-102,"Syntax error"'],
    ['FETC?', '-230,"Data corrupt or stale"'],
    ['INIT;INIT', '-213,"Init ignored"'],
    [`*CLS ${'x'.repeat(300)}`, '-363,"Input buffer overrun"'],
  ]
  for (const [line, expected] of refusals) {
    it(`answers ${JSON.stringify(line.slice(0, 20))} with ${expected} and does nothing`, async () => {
      bridge.tell(`${line}\n`)
      expect(await error()).toBe(expected)
      expect(await bridge.ask('SENS:AVER:COUN?;:SOUR:CURR?;:ROUT:CLOS:STAT?\n')).toBe(
        '1;+1.000000E-03;(@1)\n',
      )
    })
  }

  it('skips what follows an error in the same line', async () => {
    bridge.tell('SENS:AVER:COUN 400;:SOUR:CURR 2E-3\n')
    expect(await bridge.ask('SOUR:CURR?\n')).toBe('+1.000000E-03\n')
  })

  it('keeps sixteen errors, the last of which becomes the overflow', async () => {
    for (let i = 0; i < 20; i += 1) bridge.tell('NOPE\n')
    expect(await bridge.ask('SYST:ERR:COUN?\n')).toBe('16\n')
    const all: string[] = []
    for (let i = 0; i < 17; i += 1) all.push(await error())
    expect(all.slice(0, 15).every((one) => one === '-113,"Undefined header"')).toBe(true)
    expect(all.slice(15)).toEqual(['-350,"Queue overflow"', '0,"No error"'])
  })

  it('shows power-on once, and the class of each error, in the event status register', async () => {
    expect(await bridge.ask('*ESR?;*ESR?\n')).toBe('128;0\n')
    bridge.tell('NOPE\n')
    bridge.tell('SENS:AVER:COUN 400\n')
    expect(await bridge.ask('*ESR?\n')).toBe(`${32 + 16}\n`)
    bridge.tell('*OPC\n')
    expect(await bridge.ask('*ESR?\n')).toBe('1\n')
  })

  it('sums up in the status byte', async () => {
    await bridge.ask('*ESR?\n')
    bridge.tell('*ESE 32;*SRE 32;NOPE\n')
    expect(await bridge.ask('*STB?\n')).toBe(`${4 + 32 + 64}\n`)
    bridge.tell('*CLS\n')
    expect(await bridge.ask('*STB?\n')).toBe('0\n')
    expect(await bridge.ask('*ESE?;*SRE?\n')).toBe('32;32\n')
  })

  it('holds *OPC? until the measurement is done', async () => {
    await bridge.ask('SENS:AVER:COUN 10;*OPC?\n')
    const before = bench.clock.now().monoUs
    bridge.tell('INIT\n')
    expect(await bridge.ask('STAT:OPER:COND?\n')).toBe('16\n')
    expect(await bridge.ask('*OPC?\n')).toBe('1\n')
    expect((bench.clock.now().monoUs - before) / 1e6).toBeCloseTo(5, 2)
    expect(await bridge.ask('STAT:OPER:COND?;:STAT:OPER?\n')).toBe('0;16\n')
  })

  it('drops the answer of a query that is interrupted, says -410 and does the new line', async () => {
    bridge.tell('INIT;*OPC?\n')
    await bench.clock.sleep(100)
    expect(await bridge.ask('*IDN?\n')).toBe('QUENNICK,RB-8,0817,1.3\n')
    expect(await error()).toBe('-410,"Query INTERRUPTED"')
    await bench.clock.sleep(2000)
    expect(bridge.received).toBe('')
  })

  it('holds up lines after *WAI without an error', async () => {
    bridge.tell('INIT;*WAI\n')
    await bench.clock.sleep(10)
    const before = bench.clock.now().monoUs
    expect(await bridge.ask('STAT:OPER:COND?\n')).toBe('0\n')
    expect(bench.clock.now().monoUs - before).toBeGreaterThan(400_000)
    expect(await error()).toBe('0,"No error"')
  })

  it('goes back to power-up settings on *RST without raising power-on', async () => {
    await bridge.ask('*ESR?\n')
    bridge.tell('ROUT:CLOS (@2);:SOUR:CURR 2E-3;*RST\n')
    expect(await bridge.ask('ROUT:CLOS:STAT?;:SOUR:CURR?;*ESR?\n')).toBe('(@1);+1.000000E-03;0\n')
  })
})

describe('Dm7', () => {
  it('keeps a reply until it is read when asked to, and knows interrupted from unterminated', async () => {
    const meter = await bench.client('meter')
    meter.tell('SYST:COMM:HOLD ON\n')
    meter.tell('*IDN?\n')
    await bench.clock.sleep(1000)
    expect(meter.received).toBe('')
    expect(await meter.ask('\x05')).toBe('QUENNICK,DM-7,0704,3.0\n')
    meter.tell('\x05')
    meter.tell('SYST:ERR?\n')
    expect(await meter.ask('\x05')).toBe('-420,"Query UNTERMINATED"\n')
    meter.tell('*IDN?\n')
    await bench.clock.sleep(1)
    meter.tell('SYST:ERR?\n')
    await bench.clock.sleep(1)
    expect(await meter.ask('\x05')).toBe('-410,"Query INTERRUPTED"\n')
  })

  it('measures a thermocouple at its rear and says over range where the range is too small', async () => {
    const meter = await bench.client('meter')
    meter.tell('CONF:VOLT;:ROUT:TERM REAR;:INIT\n')
    const [text, unit] = (await meter.ask('FETC?\n')).trim().split(' ')
    expect(unit).toBe('V')
    // Type T at room temperature: about 0.91 mV (NIST Monograph 175: 0.992 mV at 25 degC).
    expect(Number(text)).toBeGreaterThan(0.8e-3)
    expect(Number(text)).toBeLessThan(1.05e-3)
  })
})

describe('spellings', () => {
  it('lists every way of writing a header', () => {
    expect(spellings('SYSTem:ERRor[:NEXT]').sort()).toEqual(
      [
        'SYST:ERR',
        'SYST:ERR:NEXT',
        'SYST:ERROR',
        'SYST:ERROR:NEXT',
        'SYSTEM:ERR',
        'SYSTEM:ERR:NEXT',
        'SYSTEM:ERROR',
        'SYSTEM:ERROR:NEXT',
      ].sort(),
    )
  })
})

describe('parseMessage', () => {
  it('splits at semicolons and commas outside quotes and parentheses only', () => {
    const units = parseMessage('A "x;y",(@1,2);:B?')
    expect(units.map(({ header, absolute }) => [header, absolute])).toEqual([
      ['A', false],
      ['B?', true],
    ])
    expect(units[0]!.args.quoted(0)).toBe('x;y')
  })
})

describe('nr3', () => {
  it('writes sign, digits and a two-digit exponent, and the special numbers', () => {
    expect(nr3(0.2551234568, 10)).toBe('+2.551234568E-01')
    expect(nr3(-12, 3)).toBe('-1.20E+01')
    expect([Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, Number.NaN].map((x) => nr3(x, 5))).toEqual([
      '+9.9E+37',
      '-9.9E+37',
      '+9.91E+37',
    ])
  })
})

describe('nr2', () => {
  it('never writes a negative zero', () => {
    expect(nr2(-0.0001, 3)).toBe('0.000')
    expect(nr2(-1.5, 3)).toBe('-1.500')
  })
})
