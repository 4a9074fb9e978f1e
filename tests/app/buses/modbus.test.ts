import { describe, expect, it } from 'vitest'
import {
  crc16,
  type ModbusFrame,
  rtuCutter,
  tcpCutter,
  writeRequest,
  writeRtu,
  writeTcp,
} from '../../../app/buses/modbus.ts'
import { PacketError } from '../../../app/buses/packets.ts'
import { type RegisterRule, readRegisters, writeRegisters } from '../../../drivers/link/registers.ts'

const bytes = (hex: string) => Uint8Array.from(hex.split(' ').map((each) => Number.parseInt(each, 16)))

describe('frames of Modbus', () => {
  it('carry the check value of known frames', () => {
    // Read holding registers 0 to 9 of unit 1; an example that circulates widely, from memory.
    expect(writeRtu({ unit: 1, pdu: bytes('03 00 00 00 0a') })).toEqual(bytes('01 03 00 00 00 0a c5 cd'))
    // CRC-16/MODBUS of "123456789": the catalogue's check value, from memory.
    expect(crc16(new TextEncoder().encode('123456789'))).toBe(0x4b37)
  })

  it('are cut by what their function says, byte by byte, and refused where a bit has flipped', () => {
    const reply = writeRtu({ unit: 7, pdu: bytes('04 04 41 c8 00 00') })
    const got: ModbusFrame[] = []
    const cutter = rtuCutter('replies', ({ unit, pdu }) =>
      got.push({ transaction: 0, unit, pdu: pdu.slice() }),
    )
    for (const byte of [...reply, ...reply]) cutter.push(Uint8Array.from([byte]))
    expect(got).toHaveLength(2)
    expect(got[1]).toEqual({ transaction: 0, unit: 7, pdu: bytes('04 04 41 c8 00 00') })
    for (let bit = 8 * 3; bit < 8 * reply.length; bit++) {
      const flipped = reply.slice()
      flipped[bit >> 3]! ^= 1 << (bit & 7)
      expect(() => rtuCutter('replies', () => undefined).push(flipped)).toThrow(PacketError)
    }
  })

  it('write several registers with their number and the number of their bytes', () => {
    // Modbus Application Protocol V1.1b3, 6.12: function 10 hex, address, quantity, byte count, values (from memory).
    expect(writeRequest(0x0102, [1, 0xfffe])).toEqual(bytes('10 01 02 00 02 04 00 01 ff fe'))
    const most = writeRequest(
      0,
      Array.from({ length: 123 }, (_, i) => i),
    )
    expect([most.length, ...most.subarray(0, 6)]).toEqual([252, 0x10, 0, 0, 0, 123, 246])
    expect([...most.subarray(-2)]).toEqual([0, 122])
  })

  it('over TCP have the header of seven bytes, and nothing else passes', () => {
    const frame = writeTcp({ transaction: 0x1234, unit: 9, pdu: writeRequest(1, [7]) })
    expect(frame).toEqual(bytes('12 34 00 00 00 06 09 06 00 01 00 07'))
    const cut = (hex: string) => {
      const got: ModbusFrame[] = []
      tcpCutter((each) => got.push({ ...each, pdu: each.pdu.slice() })).push(bytes(hex))
      return got
    }
    // As soon as the length has come, without waiting for what it announces.
    expect(() => cut('12 34 00 01 00 06')).toThrow(PacketError)
    // Unit and function code at least; 254 at most (Modbus Messaging on TCP/IP V1.0b, 3.1.3: 260 bytes; from memory).
    expect(() => cut('12 34 00 00 00 01')).toThrow(PacketError)
    expect(() => cut('12 34 00 00 00 ff')).toThrow(PacketError)
    expect(cut('12 34 00 00 00')).toEqual([])
    expect(cut('12 34 00 00 00 fe')).toEqual([])
    expect(cut('12 34 00 00 00 02 09 06')).toEqual([{ transaction: 0x1234, unit: 9, pdu: bytes('06') }])
  })
})

const rule = (part: Partial<RegisterRule>): RegisterRule => ({
  table: 'holding',
  address: 0,
  type: 'uint16',
  words: 'high-first',
  length: 1,
  power: 0,
  ...part,
})

describe('registers', () => {
  it.each([
    [rule({ power: -2 }), [2143], '21.43'],
    [rule({ type: 'int16', power: -2 }), [0xfffb], '-0.05'],
    [rule({ type: 'int16', power: -1 }), [0xff9c], '-10.0'],
    [rule({ type: 'uint32', words: 'low-first', power: -2 }), [0x8bcd, 0x0001], '1013.25'],
    [rule({ type: 'int32' }), [0xffff, 0xfffe], '-2'],
    [rule({ power: 2 }), [12], '12E2'],
    [rule({ power: -3 }), [5], '0.005'],
    [rule({ bytes: 'low-first' }), [0x3412], '4660'],
    [rule({ type: 'int64' }), [0xffff, 0xffff, 0xffff, 0xfffe], '-2'],
    [rule({ type: 'uint64', words: 'low-first' }), [2, 0, 1, 0], '4294967298'],
    // Two to the power of 53, less 1: the last before which every integer has a number.
    [rule({ type: 'uint64' }), [0x001f, 0xffff, 0xffff, 0xffff], '9007199254740991'],
    // IEEE 754: 100.25 is 1.56640625 times 2^6.
    [rule({ type: 'float64' }), [0x4059, 0x1000, 0, 0], '100.25'],
    [rule({ type: 'float64', words: 'low-first', bytes: 'low-first' }), [0, 0, 0x0010, 0x5940], '100.25'],
    [rule({ type: 'float32' }), [0x41c8, 0x0000], '25'],
    [rule({ type: 'float32', words: 'low-first' }), [0x0625, 0x41c8], '25.003'],
  ] as const)('%o of %o is %s, and back', (register, words, text) => {
    expect(readRegisters(register, words)).toBe(text)
    expect(writeRegisters(register, text)).toEqual([...words])
  })

  it('say what is no number, and read texts', () => {
    expect(readRegisters(rule({ type: 'float32' }), [0x7fc0, 0])).toBe('NaN')
    expect(readRegisters(rule({ type: 'text', length: 3 }), [0x5442, 0x2d32, 0x4d00])).toBe('TB-2M')
  })

  it('take no value that would be changed by writing it', () => {
    expect(writeRegisters(rule({ power: -1 }), '25.05')).toBeUndefined()
    expect(writeRegisters(rule({}), '65536')).toBeUndefined()
    expect(writeRegisters(rule({}), '-1')).toBeUndefined()
    expect(writeRegisters(rule({ type: 'int16' }), '-32769')).toBeUndefined()
    expect(writeRegisters(rule({ type: 'int16' }), '-32768')).toEqual([0x8000])
    expect(writeRegisters(rule({ type: 'int16' }), '32768')).toBeUndefined()
    expect(writeRegisters(rule({}), '65535')).toEqual([0xffff])
    expect(writeRegisters(rule({ type: 'uint64' }), '9007199254740992')).toBeUndefined()
    expect(writeRegisters(rule({ type: 'int64' }), '-9007199254740992')).toBeUndefined()
    expect(writeRegisters(rule({}), ' ')).toBeUndefined()
    expect(writeRegisters(rule({ type: 'float32' }), '1E39')).toBeUndefined()
    expect(writeRegisters(rule({ type: 'text' }), '1')).toBeUndefined()
    expect(writeRegisters(rule({}), 'x')).toBeUndefined()
  })
})
