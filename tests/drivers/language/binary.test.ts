import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { NUMBER_TYPES, type NumberType, readBinary, sizeOf } from '../../../drivers/language/binary.ts'
import { printBlock, readBlock } from '../../../drivers/language/blocks.ts'
import { convertBack, convertNumber, convertText } from '../../../drivers/language/linear.ts'
import { Framer } from '../../../drivers/link/framer.ts'
import {
  REGISTER_TYPES,
  type RegisterRule,
  readRegisters,
  writeRegisters,
} from '../../../drivers/link/registers.ts'

const bytes = fc
  .uint8Array({ minLength: 1, maxLength: 200 })
  .map((array) => Buffer.from(array).toString('latin1'))
const order = fc.constantFrom('big' as const, 'little' as const)

describe('a block', () => {
  it('gives back its bytes, whatever they are, and however the line cuts it', () => {
    fc.assert(
      fc.property(bytes, fc.array(fc.nat({ max: 210 })), fc.boolean(), (inside, cuts, definite) => {
        const sent = Buffer.from(`${definite ? printBlock(inside) : `#0${inside}`}\n`, 'latin1')
        const heard: string[] = []
        const framer = new Framer(
          { end: { kind: 'terminator', text: '\n' }, maxBytes: 4096, tokens: [], blocks: true, ends: true },
          { frame: (text) => heard.push(text), overflow: () => heard.push('overflow') },
        )
        const places = [...new Set(cuts.filter((at) => at < sent.length))].toSorted((a, b) => a - b)
        for (const [i, at] of [0, ...places].entries()) {
          const end = places[i] ?? sent.length
          framer.push(sent.subarray(at, end), end === sent.length)
        }
        expect(heard.map(readBlock)).toEqual([inside])
      }),
    )
  })
})

describe('binary numbers', () => {
  it.each(['float32', 'float64'] as const)('%s are read back as the same number in either order', (type) => {
    const any = type === 'float32' ? fc.float({ noNaN: true }) : fc.double({ noNaN: true })
    fc.assert(
      fc.property(fc.array(any, { minLength: 1 }), order, (numbers, wanted) => {
        const size = sizeOf(type)
        const buffer = Buffer.alloc(numbers.length * size)
        for (const [i, n] of numbers.entries()) {
          const method =
            `write${type === 'float32' ? 'Float' : 'Double'}${wanted === 'big' ? 'BE' : 'LE'}` as const
          buffer[method](n, i * size)
        }
        const read = readBinary(buffer.toString('latin1'), type, wanted)!
        const back = read.map(({ text }) => (type === 'float32' ? Math.fround(Number(text)) : Number(text)))
        expect(back.map((n) => n + 0)).toEqual(numbers.map((n) => n + 0))
      }),
    )
  })

  it('are written with as few digits as tell a single-precision number from its neighbours', () => {
    const text = (value: number) => {
      const buffer = Buffer.alloc(4)
      buffer.writeFloatBE(value)
      return readBinary(buffer.toString('latin1'), 'float32', 'big')![0]!.text
    }
    expect(
      ['0.1', '-25.003', '100.0251', '1e-10', '16777216', '0'].filter((each) => text(Number(each)) !== each),
    ).toEqual([])
    // 1 + 2^-23 needs eight digits.
    expect(text(1 + 2 ** -23)).toBe('1.0000001')
    expect([Number.NaN, Number.POSITIVE_INFINITY].map(text)).toEqual(['NaN', 'Infinity'])
    const single = fc.float({ noNaN: true, noDefaultInfinity: true })
    fc.assert(
      fc.property(single, (value) => {
        const written = text(value)
        expect(Math.fround(Number(written)) + 0).toBe(value + 0)
        const digits = Number(written)
          .toExponential()
          .replace(/e.*$|[^\d]/g, '').length
        for (const fewer of [7, 8])
          if (fewer < digits) expect(Math.fround(Number(value.toPrecision(fewer)))).not.toBe(value)
      }),
    )
  })

  it('keep every digit of integers', () => {
    const read = (hex: string, type: NumberType, wanted: 'big' | 'little') =>
      readBinary(Buffer.from(hex, 'hex').toString('latin1'), type, wanted)!.map(({ text }) => text)
    expect(read('ffff', 'int16', 'big')).toEqual(['-1'])
    expect(read('ffff0100', 'uint16', 'little')).toEqual(['65535', '1'])
    expect(read('7fffffffffffffff', 'int64', 'big')).toEqual(['9223372036854775807'])
    expect(read('00000080', 'int32', 'little')).toEqual(['-2147483648'])
    expect(read('ff7f', 'int8', 'big')).toEqual(['-1', '127'])
  })

  it('are none where the bytes do not come out even', () => {
    fc.assert(
      fc.property(fc.constantFrom(...NUMBER_TYPES), bytes, order, (type, sent, wanted) => {
        const read = readBinary(sent, type, wanted)
        expect(read === undefined).toBe(sent.length % sizeOf(type) !== 0)
      }),
    )
  })
})

describe('registers', () => {
  it('give back what was written, in any order of words and bytes', () => {
    const types = REGISTER_TYPES.filter((type) => type !== 'text')
    const sides = fc.constantFrom('high-first' as const, 'low-first' as const)
    fc.assert(
      fc.property(
        fc.constantFrom(...types),
        sides,
        sides,
        fc.nat({ max: 32_000 }),
        (type, words, turned, n) => {
          const rule: RegisterRule = {
            table: 'holding',
            address: 0,
            type,
            words,
            bytes: turned,
            length: 1,
            power: 0,
          }
          const written = writeRegisters(rule, String(n))!
          expect(written).toHaveLength(Math.max(1, sizeOf(type) / 2))
          expect(readRegisters(rule, written)).toBe(String(n))
        },
      ),
    )
    // 25.5 as IEEE 754 double is 4039 8000 0000 0000; low word first and each turned about.
    const rule = {
      table: 'input',
      address: 0,
      type: 'float64',
      words: 'low-first',
      length: 1,
      power: 0,
    } as const
    expect(readRegisters(rule, [0, 0, 0x8000, 0x4039])).toBe('25.5')
    expect(readRegisters({ ...rule, bytes: 'low-first' }, [0, 0, 0x0080, 0x3940])).toBe('25.5')
    expect(writeRegisters({ ...rule, bytes: 'low-first' }, '25.5')).toEqual([0, 0, 0x0080, 0x3940])
  })
})

describe('a linear conversion', () => {
  it('keeps the digits that were sent and the numbers both ways', () => {
    const fahrenheit = { plus: -32, times: 5, over: 9 }
    expect(convertText('212.0', fahrenheit)).toBe('100.00000')
    expect(convertText('77', fahrenheit)).toBe('25.0000')
    expect(convertText('1.50', { plus: 0, times: 1000, over: 1 })).toBe('1500.00')
    expect(convertText('1.5E-3', { plus: 0, times: 1, over: 1 })).toBe('0.0015')
    // With an exponent and no point as well: 25 mV sent in volts.
    expect(convertText('25E-3', { plus: 0, times: 1, over: 1 })).toBe('0.025')
    expect(convertText('5e-4', { plus: 1, times: 2, over: 1 })).toBe('2.0010')
    expect(convertText('5E+2', { plus: 0, times: 2, over: 1 })).toBe('1000')
    // The places of what is added count beside those that were sent, those of the factor on top of them.
    expect(convertText('298.1', { plus: -273.15, times: 1, over: 1 })).toBe('24.95')
    expect(convertText('298.150', { plus: -273.15, times: 1, over: 1 })).toBe('25.000')
    expect(convertText('123.4', { plus: 0, times: 0.01, over: 1 })).toBe('1.234')
    expect(convertText('2', { plus: 0.5, times: 0.25, over: 1 })).toBe('0.625')
    // Of a quotient three places more, and those that the divisor moves it by.
    expect(convertText('1', { plus: 0, times: 1, over: 3 })).toBe('0.3333')
    expect(convertText('1', { plus: 0, times: 1, over: 300 })).toBe('0.003333')
    expect(convertText('1', { plus: 0, times: 1, over: -4 })).toBe('-0.2500')
    // More places than any instrument sends are not written out.
    expect(convertText(`0.${'3'.repeat(40)}`, { plus: 0, times: 1, over: 1 })).toBe(`0.${'3'.repeat(30)}`)
    expect(Number(convertText('1E-35', { plus: 0, times: 2, over: 1 }))).toBe(2e-35)
    expect(Number(convertText('1E35', { plus: 0, times: 2, over: 1 }))).toBe(2e35)
    expect(convertText('1E30', { plus: 0, times: 2, over: 1 })).toBe(`2${'0'.repeat(30)}`)
    fc.assert(
      fc.property(
        fc.double({ min: -1e4, max: 1e4, noNaN: true }),
        fc.double({ min: -500, max: 500, noNaN: true }),
        fc.double({ min: 1e-3, max: 1e3, noNaN: true }),
        (value, plus, times) => {
          const rule = { plus, times, over: 9 }
          expect(convertNumber(convertBack(value, rule), rule)).toBeCloseTo(value, 6)
        },
      ),
    )
  })
})
