import { describe, expect, it } from 'vitest'
import { bytesOf } from '../../../app/buses/packets.ts'
import { nextTag, readHeader, writeAsk, writeBulk, writeTrigger } from '../../../app/buses/usbtmc.ts'

const hex = (bytes: Uint8Array) => Buffer.from(bytes).toString('hex')

/** Fields of the headers as USBTMC 1.0, table 1 ff., has them (from memory): message, tag, its inverse, 0, size, attributes. */
describe('messages of USBTMC', () => {
  it('are filled up to a multiple of four bytes, which the size does not count', () => {
    expect(hex(writeBulk(1, 7, bytesOf('*IDN?\n'), true))).toBe(
      '0107f800' + '06000000' + '01000000' + '2a49444e3f0a' + '0000',
    )
    const lengths = [0, 1, 2, 3, 4, 5].map((n) => writeBulk(2, 1, new Uint8Array(n), true).length)
    expect(lengths).toEqual([12, 16, 16, 16, 16, 20])
    expect(writeBulk(1, 7, bytesOf('x'), false)[8]).toBe(0)
  })

  it('ask for an answer, and trigger, with a header alone', () => {
    expect(hex(writeAsk(255, 0x01020304))).toBe('02ff0000' + '04030201' + '00000000')
    expect(hex(writeTrigger(1))).toBe('8001fe00' + '00000000' + '00000000')
  })

  it('have tags from 1 to 255', () => {
    expect([1, 254, 255].map(nextTag)).toEqual([2, 255, 1])
  })

  it('are read where tag and inverse agree, with sizes of four bytes', () => {
    const ask = writeAsk(9, 0xfedcba98)
    expect(readHeader(ask)).toEqual({ message: 2, tag: 9, size: 0xfedcba98, attributes: 0 })
    const end = writeBulk(2, 9, bytesOf('1\n'), true)
    expect(readHeader(end)).toEqual({ message: 2, tag: 9, size: 2, attributes: 1 })
    expect(readHeader(ask.subarray(0, 11))).toBeUndefined()
    expect(readHeader(ask.with(2, 0xf7))).toBeUndefined()
    expect(readHeader(ask.with(1, 0).with(2, 0xff))).toBeUndefined()
  })
})
