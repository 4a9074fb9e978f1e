import { describe, expect, it } from 'vitest'
import { bytesOf, PacketError } from '../../../app/buses/packets.ts'
import {
  clientCutter,
  serverCutter,
  writeBusId,
  writeDevice,
  writeOperation,
  writeSubmit,
  writeSubmitted,
  writeUnlink,
  writeUnlinked,
} from '../../../app/buses/usbip.ts'

/** Offsets of the fields as the Linux kernel's Documentation/usb/usbip_protocol.rst has them (from memory), written out anew. */
const DEVICE = { busId: '1-2', busNumber: 1, deviceNumber: 5, vendor: 0x1209, product: 0x0001 }
const words = (bytes: Uint8Array) =>
  Array.from({ length: 12 }, (_, i) => Buffer.from(bytes).readUInt32BE(4 * i))

/** What a side makes of bytes that come in one piece, and of the same one by one. */
function cut(side: typeof clientCutter, bytes: Uint8Array, isImported: boolean, isIn = true) {
  const ways = [[bytes], [...bytes].map((byte) => Uint8Array.of(byte))].map((pieces) => {
    const got: unknown[] = []
    const take = (message: object) =>
      got.push('data' in message ? { ...message, data: [...(message.data as Uint8Array)] } : message)
    const cutter =
      side === clientCutter
        ? clientCutter(() => isImported, take)
        : serverCutter(
            () => isImported,
            () => isIn,
            take,
          )
    for (const piece of pieces) cutter.push(piece)
    return got
  })
  expect(ways[1]).toEqual(ways[0])
  return ways[0]!
}
const server = serverCutter as unknown as typeof clientCutter
const joined = (...parts: readonly Uint8Array[]) => Uint8Array.from(parts.flatMap((part) => [...part]))

describe('a shared device', () => {
  it('is asked for by its bus, and imported or refused with a status', () => {
    const ask = writeOperation(0x8003, 0, writeBusId('3-2'))
    expect(ask).toHaveLength(40)
    expect(cut(clientCutter, joined(writeOperation(0x8005), ask), false)).toEqual([
      { code: 'list' },
      { code: 'import', busId: '3-2' },
    ])
    const told = joined(writeOperation(0x0003, 1), writeOperation(0x0003, 0, writeDevice(DEVICE)))
    expect(cut(server, told, false)).toEqual([
      { code: 'import', status: 1, device: undefined },
      { code: 'import', status: 0, device: DEVICE },
    ])
  })
})

describe('transfers over USB/IP', () => {
  const setup = { type: 0xa1, request: 7, value: 0x0102, index: 0x0304, length: 24 }
  const NO_SETUP = { type: 0, request: 0, value: 0, index: 0, length: 0 }

  it('are asked for, with the setup in the byte order of USB', () => {
    const asked = { sequence: 9, endpoint: 0, isIn: true, length: 24, setup, data: new Uint8Array(0) }
    const bytes = writeSubmit(0x30005, asked)
    // Command, sequence, device, direction, endpoint, flags, length, start frame, packets (none: not isochronous), interval.
    expect(words(bytes)).toEqual([1, 9, 0x30005, 1, 0, 0, 24, 0, 0xffffffff, 0, 0xa1070201, 0x04031800])
    const sent = { sequence: 10, endpoint: 2, isIn: false, length: 3, setup: NO_SETUP, data: bytesOf('R?\n') }
    const both = joined(bytes, writeSubmit(0x30005, sent), writeUnlink(0x30005, 11, 9))
    expect(cut(clientCutter, both, true)).toEqual([
      { command: 'submit', ...asked, data: [] },
      { command: 'submit', ...sent, data: [82, 63, 10] },
      { command: 'unlink', sequence: 11, victim: 9 },
    ])
    expect(words(writeUnlink(0x30005, 11, 9))).toEqual([2, 11, 0x30005, 0, 0, 9, 0, 0, 0, 0, 0, 0])
  })

  it('end with a status, and with data where they are to the host', () => {
    const ended = writeSubmitted(9, 0, bytesOf('1\n'))
    expect(words(ended)).toEqual([3, 9, 0, 0, 0, 0, 2, 0, 0xffffffff, 0, 0, 0])
    const stalled = writeSubmitted(10, -32, new Uint8Array(0))
    const back = writeUnlinked(11, -104)
    expect(words(back)).toEqual([4, 11, 0, 0, 0, 2 ** 32 - 104, 0, 0, 0, 0, 0, 0])
    expect(cut(server, joined(ended, stalled, back), true)).toEqual([
      { command: 'submitted', sequence: 9, status: 0, data: [49, 10] },
      { command: 'submitted', sequence: 10, status: -32, data: [] },
      { command: 'unlinked', sequence: 11, status: -104, data: [] },
    ])
    // Of a transfer to the device the length is what was taken of it, and nothing follows.
    const taken = joined(writeSubmitted(9, 0, new Uint8Array(0), 512), back)
    expect(cut(server, taken, true, false)).toHaveLength(2)
  })

  it('of another version, another kind or of more than two megabytes are refused', () => {
    const refused = (side: typeof clientCutter, bytes: Uint8Array, isImported: boolean) =>
      expect(() => cut(side, bytes, isImported)).toThrow(PacketError)
    for (const side of [clientCutter, server]) {
      refused(side, Uint8Array.of(1, 6, 0, 3, 0, 0, 0, 0), false)
      refused(side, writeUnlinked(1, 0).fill(9, 3, 4), true)
    }
    refused(clientCutter, writeOperation(0x8004), false)
    const long = (bytes: Uint8Array, length: number) => {
      new DataView(bytes.buffer).setUint32(24, length)
      return bytes
    }
    const none = new Uint8Array(0)
    const ask = () =>
      writeSubmit(1, { sequence: 1, endpoint: 1, isIn: true, length: 0, setup: NO_SETUP, data: none })
    expect(cut(clientCutter, long(ask(), 2 ** 21), true)).toHaveLength(1)
    refused(clientCutter, long(ask(), 2 ** 21 + 1), true)
    refused(server, long(writeSubmitted(1, 0, none), 2 ** 21 + 1), true)
    const many = new Uint8Array(4 + 6800 * 312).fill(26, 2, 3).fill(0x90, 3, 4)
    const cutter = serverCutter(
      () => false,
      () => false,
      () => undefined,
    )
    expect(() => cutter.push(writeOperation(0x0005, 0, many))).toThrow(PacketError)
  })
})
