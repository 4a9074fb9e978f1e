import { DESCRIPTOR } from '../../app/buses/usb.ts'
import { TMC_CLASS, TMC_SUBCLASS, USB488_PROTOCOL } from '../../app/buses/usbtmc.ts'

/** A vendor number that is given away for projects, and the first of its numbers for trials (pid.codes; from memory). */
export const LAB_VENDOR = 0x1209
export const LAB_PRODUCT = 0x0001

export const ENDPOINT = { bulkOut: 0x01, bulkIn: 0x82, interruptIn: 0x83 } as const
export const PACKET_BYTES = 512
const TEXTS = ['Quennick', 'lab in a box']

/** What an instrument of the lab says of itself (USB 2.0, 9.6; USBTMC 1.0, 5; from memory). Undefined: there is no such descriptor. */
export function descriptorOf(kind: number, index: number, serial: string): Uint8Array | undefined {
  switch (kind) {
    case DESCRIPTOR.device:
      // USB 2.0, class in the interface, 64 bytes on endpoint 0, three strings, one configuration.
      return Uint8Array.of(
        18,
        1,
        0,
        2,
        0,
        0,
        0,
        64,
        ...low(LAB_VENDOR),
        ...low(LAB_PRODUCT),
        0,
        1,
        1,
        2,
        3,
        1,
      )
    case DESCRIPTOR.configuration:
      return configuration()
    case DESCRIPTOR.string: {
      if (index === 0) return Uint8Array.of(4, DESCRIPTOR.string, 0x09, 0x04)
      const text = [...TEXTS, serial][index - 1]
      if (text === undefined) return undefined
      const units = [...text].flatMap((character) => low(character.charCodeAt(0)))
      return Uint8Array.of(2 + units.length, DESCRIPTOR.string, ...units)
    }
    default:
      return undefined
  }
}

function configuration(): Uint8Array {
  const endpoint = (address: number, transfer: number, bytes: number, interval: number) => [
    ...[7, DESCRIPTOR.endpoint, address, transfer],
    ...low(bytes),
    interval,
  ]
  const parts = [
    ...[9, DESCRIPTOR.interface, 0, 0, 3, TMC_CLASS, TMC_SUBCLASS, USB488_PROTOCOL, 0],
    ...endpoint(ENDPOINT.bulkOut, 2, PACKET_BYTES, 0),
    ...endpoint(ENDPOINT.bulkIn, 2, PACKET_BYTES, 0),
    ...endpoint(ENDPOINT.interruptIn, 3, 2, 4),
  ]
  return Uint8Array.of(9, DESCRIPTOR.configuration, ...low(9 + parts.length), 1, 1, 0, 0xc0, 0, ...parts)
}

const low = (value: number): [number, number] => [value & 0xff, value >> 8]
