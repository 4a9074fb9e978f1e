import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { printBlock, readBlock } from '../../../drivers/language/blocks.ts'
import {
  readErrorQueue,
  readQueuedError,
  saysPowerOn,
  tellErrors,
} from '../../../drivers/language/error-queue.ts'
import { headerPattern, shortForm, splitMessage } from '../../../drivers/language/headers.ts'
import { matchIdentity } from '../../../drivers/language/identity.ts'
import { compilePattern } from '../../../drivers/language/pattern.ts'
import { readRegister } from '../../../drivers/language/status.ts'
import { printString, readString } from '../../../drivers/language/strings.ts'

const bytes = fc.string({
  unit: fc.integer({ min: 0, max: 255 }).map((code) => String.fromCharCode(code)),
  maxLength: 300,
})

describe('readString', () => {
  it('reads back what is printed, quotes included', () => {
    fc.assert(
      fc.property(bytes, (text) => {
        expect(readString(printString(text))).toBe(text)
      }),
    )
  })
  it.each(['', '"', 'abc', '"a"b"', '"open', '\'mixed"'])('refuses %j', (text) =>
    expect(readString(text)).toBeUndefined(),
  )
  it('reads single quotes', () => expect(readString("'it''s'")).toBe("it's"))
})

describe('readBlock', () => {
  it('reads back what is printed, whatever bytes it holds', () => {
    fc.assert(
      fc.property(bytes, (text) => {
        expect(readBlock(printBlock(text))).toBe(text)
      }),
    )
  })
  it('reads the indefinite form up to its end', () => expect(readBlock('#0abc')).toBe('abc'))
  it.each(['', '#', '#2', '#15abc', '#13abcd', '#2xxab', '#x', '12', 'x13abc', '#2 1a', '#2+1a', '#30'])(
    'refuses %j',
    (text) => expect(readBlock(text)).toBeUndefined(),
  )
})

describe('readQueuedError', () => {
  it.each([
    ['0,"No error"', 0, 'No error'],
    ['+0,"No error"', 0, 'No error'],
    ['-000,"No error"', 0, 'No error'],
    ['-222,"Data out of range"', -222, 'Data out of range'],
    ['-113,"Undefined header;MOVE ""3"""', -113, 'Undefined header;MOVE "3"'],
    ['42', 42, ''],
  ])('reads %s', (reply, number, text) => expect(readQueuedError(reply)).toEqual({ number, text }))
  it('refuses what is not an entry', () => expect(readQueuedError('+2.5E-01')).toBeUndefined())
})

describe('readErrorQueue', () => {
  it('asks until the queue is empty', async () => {
    const queue = ['-222,"Data out of range"', '-500,"Power on"', '0,"No error"', '-1,"never asked"']
    const errors = await readErrorQueue(async () => queue.shift())
    expect(errors.map((each) => each.number)).toEqual([-222, -500])
    expect(errors.map(saysPowerOn)).toEqual([false, true])
    expect(queue).toHaveLength(1)
    expect(tellErrors(errors)).toBe('-222 Data out of range; -500 Power on')
  })
  it('stops after twenty from an instrument that never ends', async () => {
    let asked = 0
    const errors = await readErrorQueue(async () => `-${++asked},"again"`)
    expect(errors).toHaveLength(20)
    expect(tellErrors(errors)).toContain('and more')
  })
  it('says what an error of the message exchange means', () => {
    expect(tellErrors([{ number: -410, text: 'Query INTERRUPTED' }])).toBe(
      '-410 Query INTERRUPTED (a line came before the answer to the one before had been read)',
    )
  })
  it('stops where no answer comes', async () =>
    expect(await readErrorQueue(async () => undefined)).toEqual([]))
})

describe('headerPattern', () => {
  const pattern = headerPattern('SOURce:CURRent[:LEVel]')
  it.each(['SOUR:CURR', 'source:current', ':SOURCE:CURR:LEV', 'SOUR:CURRENT:LEVEL'])('knows %s', (header) =>
    expect(pattern.test(header)).toBe(true),
  )
  it.each(['SOURC:CURR', 'SOUR:CURR?', 'SOUR:CURRE', 'CURR', 'SOUR:CURR:KEEP'])(
    'does not know %s',
    (header) => expect(pattern.test(header)).toBe(false),
  )
  it('knows questions and common commands', () => {
    expect(headerPattern('*IDN?').test('*idn?')).toBe(true)
    expect(headerPattern('SYSTem:ERRor[:NEXT]?').test('SYST:ERR:NEXT?')).toBe(true)
    expect(headerPattern('SYSTem:ERRor[:NEXT]?').test('SYST:ERR')).toBe(false)
  })
})

describe('shortForm', () => {
  it('leaves what stands in braces and quotes', () => {
    expect(shortForm('SOURce:CURRent[:LEVel] {current},"Name"')).toBe('SOUR:CURR {current},"Name"')
  })
})

describe('splitMessage', () => {
  it('resolves headers that go on at the level of the one before', () => {
    expect(splitMessage('SENS:AVER:COUN 4;COUN?;*OPC?;STAT 1;:OUTP ON')).toEqual([
      { header: 'SENS:AVER:COUN', parameters: '4' },
      { header: 'SENS:AVER:COUN?', parameters: '' },
      { header: '*OPC?', parameters: '' },
      { header: 'SENS:AVER:STAT', parameters: '1' },
      { header: 'OUTP', parameters: 'ON' },
    ])
  })
  it('has nothing of what is empty between semicolons', () => {
    expect(splitMessage('')).toEqual([])
    expect(splitMessage(' ;; *RST ; ;OUTP ON;')).toEqual([
      { header: '*RST', parameters: '' },
      { header: 'OUTP', parameters: 'ON' },
    ])
  })
  it('keeps a semicolon within quotes', () => {
    expect(splitMessage('DISP:TEXT "a;b";*IDN?')).toHaveLength(2)
  })
})

describe('matchIdentity', () => {
  it('takes the named groups, and nothing from another instrument', () => {
    const pattern = compilePattern('^(?<maker>Q),(?<model>RB-8),(?<serial>\\d+),(?<firmware>.*)$')
    expect(matchIdentity('Q,RB-8,0817,1.3', pattern)).toEqual({
      maker: 'Q',
      model: 'RB-8',
      serial: '0817',
      firmware: '1.3',
      raw: 'Q,RB-8,0817,1.3',
    })
    expect(matchIdentity('Q,RB-3,0817,1.3', pattern)).toBeUndefined()
  })
})

describe('readRegister', () => {
  it('reads decimal and hexadecimal registers and nothing else', () => {
    expect(readRegister('016', 10)).toBe(16)
    expect(readRegister('0080', 16)).toBe(128)
    expect(readRegister('+2.55E-01', 10)).toBeUndefined()
    expect(readRegister('', 16)).toBeUndefined()
    expect(readRegister(' +16\r', 10)).toBe(16)
    expect(readRegister(' 7fFFffFF ', 16)).toBe(0x7fffffff)
    expect(readRegister('1F', 10)).toBeUndefined()
    expect(readRegister('1F', 16)).toBe(31)
    expect(readRegister('-1', 16)).toBeUndefined()
    expect(readRegister('16 bits', 10)).toBeUndefined()
    // No register has more than 32 bits.
    expect(readRegister('4294967295', 10)).toBe(4294967295)
    expect(readRegister('10000000000', 10)).toBeUndefined()
    expect(readRegister('100000000', 16)).toBeUndefined()
  })
})
