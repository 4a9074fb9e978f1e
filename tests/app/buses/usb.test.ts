import { describe, expect, it } from 'vitest'
import { askDescriptor, findTmc, readString } from '../../../app/buses/usb.ts'

/** Descriptors as Universal Serial Bus 2.0, 9.6, lays them out (from memory), written by hand. */
const CONFIGURATION = [9, 2, 0, 0, 2, 3, 0, 0xc0, 0]
const KEYS = [9, 4, 0, 0, 1, 3, 1, 1, 0, 7, 5, 0x81, 3, 8, 0, 10]
const TMC = [9, 4, 1, 0, 3, 0xfe, 3, 1, 0]
const endpoint = (address: number, attributes: number, low: number, high: number) => [
  7,
  5,
  address,
  attributes,
  low,
  high,
  0,
]
const found = (...parts: readonly (readonly number[])[]) =>
  findTmc(Uint8Array.from([CONFIGURATION, ...parts].flat()))

describe('findTmc', () => {
  const whole = [TMC, endpoint(0x02, 2, 0, 2), endpoint(0x86, 2, 0, 2), endpoint(0x87, 3, 2, 0)]
  const told = { configuration: 3, number: 1, protocol: 1, bulkOut: 2, bulkIn: 0x86, interruptIn: 0x87 }

  it('finds interface, endpoints and the size of a packet, also behind an interface for something else', () => {
    expect(found(...whole)).toEqual({ ...told, packetBytes: 512 })
    expect(found(KEYS, ...whole)).toEqual({ ...told, packetBytes: 512 })
    expect(found(...whole, KEYS)).toEqual({ ...told, packetBytes: 512 })
  })

  it('takes the size of a packet for itself: its eleven bits, low byte first, of the endpoint to the host', () => {
    const size = (low: number, high: number) =>
      found(TMC, endpoint(0x86, 2, low, high), endpoint(0x02, 2, 8, 0), endpoint(0x87, 3, 2, 0))?.packetBytes
    expect(size(64, 0)).toBe(64)
    expect(size(0, 4)).toBe(1024)
    // Bits 12..11: further transactions in a microframe.
    expect(size(0, 0x12)).toBe(512)
  })

  it('does without an endpoint for requests, and has nothing where one for messages is missing', () => {
    expect(found(...whole.slice(0, 3))).toEqual({ ...told, interruptIn: undefined, packetBytes: 512 })
    // An interrupt endpoint from the host, and attributes beyond the kind of transfer.
    expect(found(...whole.slice(0, 3), endpoint(0x07, 3, 2, 0))?.interruptIn).toBeUndefined()
    expect(found(TMC, endpoint(0x02, 0xfe, 0, 2), endpoint(0x86, 0x12, 0, 2))).toMatchObject({
      bulkOut: 2,
      bulkIn: 0x86,
    })
    expect(found(whole[0]!, whole[1]!)).toBeUndefined()
    expect(found(whole[0]!, whole[2]!)).toBeUndefined()
    expect(found(...whole.slice(1))).toBeUndefined()
    expect(found(KEYS)).toBeUndefined()
    const other = (part: number, value: number) => found(TMC.with(part, value), ...whole.slice(1))
    expect(other(5, 0xff)).toBeUndefined()
    expect(other(6, 4)).toBeUndefined()
    expect(other(7, 0)).toMatchObject({ protocol: 0 })
  })

  it('comes back from descriptors that are cut short or have no length', () => {
    const bytes = Uint8Array.from([CONFIGURATION, ...whole].flat())
    for (let length = 0; length < bytes.length - 14; length++)
      expect(findTmc(bytes.subarray(0, length))).toBeUndefined()
    expect(findTmc(Uint8Array.from([...CONFIGURATION, 0, 0, ...whole.flat()]))).toBeUndefined()
    expect(findTmc(Uint8Array.from([...CONFIGURATION, 1, 0, ...whole.flat()]))).toBeUndefined()
  })
})

describe('descriptors of a device', () => {
  it('are asked for by kind and number, texts in English', () => {
    expect(askDescriptor(2, 1, 9)).toEqual({ type: 0x80, request: 6, value: 0x0201, index: 0, length: 9 })
    expect(askDescriptor(3, 2, 255)).toEqual({
      type: 0x80,
      request: 6,
      value: 0x0302,
      index: 0x0409,
      length: 255,
    })
    // Text 0 is the list of languages itself.
    expect(askDescriptor(3, 0, 255).index).toBe(0)
  })

  it('have texts in UTF-16, low byte first, as long as they say or as they are', () => {
    expect(readString(Uint8Array.of(8, 3, 0x41, 0, 0xb0, 0, 0xa9, 0x03))).toBe('A°Ω')
    expect(readString(Uint8Array.of(4, 3, 0x41, 0, 0x42, 0))).toBe('A')
    expect(readString(Uint8Array.of(8, 3, 0x41, 0, 0x42))).toBe('A')
    expect(readString(Uint8Array.of())).toBe('')
  })
})
