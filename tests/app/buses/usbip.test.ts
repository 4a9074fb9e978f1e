import { describe, expect, it } from 'vitest'
import { serverCutter, writeList } from '../../../app/buses/usbip.ts'

const DEVICE = { busId: '1-2', busNumber: 1, deviceNumber: 5, vendor: 0x1209, product: 0x0001 }

describe('a list of shared devices', () => {
  it('is laid out as the USB/IP protocol of the Linux kernel documents it', () => {
    // OP_REP_DEVLIST, kernel documentation, usb/usbip_protocol: offsets of version 1.1.1 (from memory).
    const bytes = writeList([DEVICE, { ...DEVICE, busId: '1-3' }], Uint8Array.of(0xfe, 3, 1, 0))
    const view = new DataView(bytes.buffer)
    const text = (at: number, most: number) =>
      Buffer.from(bytes.subarray(at, at + most))
        .toString('latin1')
        .replace(/\0+$/, '')
    expect(view.getUint16(0)).toBe(0x0111)
    expect(view.getUint16(2)).toBe(5)
    expect(view.getUint32(4)).toBe(0)
    expect(view.getUint32(8)).toBe(2)
    for (const [at, busId] of [
      [12, '1-2'],
      [12 + 316, '1-3'],
    ] as const) {
      expect(text(at, 256)).toBe(`/sys/devices/usb1/${busId}`)
      expect(text(at + 256, 32)).toBe(busId)
      expect([288, 292, 296].map((field) => view.getUint32(at + field))).toEqual([1, 5, 3])
      expect([300, 302, 304].map((field) => view.getUint16(at + field))).toEqual([0x1209, 1, 0x0100])
      // Class, subclass, protocol of the device; its configuration, of one; interfaces; then the interface, padded.
      expect([...bytes.subarray(at + 306, at + 316)]).toEqual([0, 0, 0, 1, 1, 1, 0xfe, 3, 1, 0])
    }
    expect(bytes).toHaveLength(12 + 2 * 316)
  })

  it('is read back whatever number of interfaces each device has, and however it is cut', () => {
    const one = writeList([DEVICE], Uint8Array.of(0xfe, 3, 1, 0))
    const entry = one.subarray(12, 12 + 312)
    const withInterfaces = (busId: number, count: number) => {
      const bytes = new Uint8Array(312 + 4 * count)
      bytes.set(entry)
      bytes[256 + 2] = 0x30 + busId
      bytes[311] = count
      return bytes
    }
    const counts = [1, 3, 0, 2, 0]
    const head = one.slice(0, 12)
    head[11] = counts.length
    const bytes = Uint8Array.from([...head, ...counts.flatMap((count, i) => [...withInterfaces(i, count)])])
    const read = (parts: readonly Uint8Array[]) => {
      const lists: (readonly string[])[] = []
      const cutter = serverCutter(
        () => false,
        () => false,
        (message) => {
          if ('code' in message && message.code === 'list')
            lists.push(message.devices.map(({ busId }) => busId))
        },
      )
      for (const part of parts) cutter.push(part)
      return lists
    }
    const expected = [['1-0', '1-1', '1-2', '1-3', '1-4']]
    expect(read([bytes])).toEqual(expected)
    expect(read(Array.from(bytes, (byte) => Uint8Array.of(byte)))).toEqual(expected)
    expect(read([bytes, bytes])).toEqual([...expected, ...expected])
    const none = head.slice()
    none[11] = 0
    expect(read([none])).toEqual([[]])
  })
})
