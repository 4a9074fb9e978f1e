import { TMC_CLASS, TMC_SUBCLASS } from './usbtmc.ts'

/** Universal Serial Bus 2.0, chapter 9: requests and descriptors (numbers from memory). */
export const STANDARD = { clearFeature: 1, getDescriptor: 6, setConfiguration: 9 } as const
export const DESCRIPTOR = { device: 1, configuration: 2, string: 3, interface: 4, endpoint: 5 } as const
/** bmRequestType of what is used here. */
export const TYPE = {
  standardIn: 0x80,
  standardOut: 0x00,
  standardOutEndpoint: 0x02,
  classInInterface: 0xa1,
  classInEndpoint: 0xa2,
} as const
/** Feature of an endpoint that stands still. */
export const ENDPOINT_HALT = 0
/** Set in the address of an endpoint from the device to the host. */
export const IN = 0x80
const TRANSFER_TYPE = { bulk: 2, interrupt: 3 } as const
const ENGLISH = 0x0409

export interface UsbSetup {
  readonly type: number
  readonly request: number
  readonly value: number
  readonly index: number
  /** Bytes asked for; 0 where the transfer carries none. */
  readonly length: number
}

/** Where in a device the class for instruments is found. */
export interface TmcInterface {
  readonly configuration: number
  readonly number: number
  /** 0: USBTMC alone; 1: with USB488. */
  readonly protocol: number
  readonly bulkOut: number
  readonly bulkIn: number
  readonly interruptIn: number | undefined
  /** Largest packet of the bulk endpoint to the host. */
  readonly packetBytes: number
}

export const askDescriptor = (kind: number, index: number, length: number): UsbSetup => ({
  type: TYPE.standardIn,
  request: STANDARD.getDescriptor,
  value: (kind << 8) | index,
  index: kind === DESCRIPTOR.string && index > 0 ? ENGLISH : 0,
  length,
})

/** The interface for instruments of a configuration descriptor with all that follows it; undefined where there is none. */
export function findTmc(bytes: Uint8Array): TmcInterface | undefined {
  let found: { number: number; protocol: number } | undefined
  let bulkOut: number | undefined
  let bulkIn: number | undefined
  let interruptIn: number | undefined
  let packetBytes = 0
  for (let at = 0; at + 2 <= bytes.length && bytes[at]! >= 2; at += bytes[at]!) {
    const kind = bytes[at + 1]
    if (kind === DESCRIPTOR.interface) {
      if (found !== undefined) break
      if (bytes[at + 5] === TMC_CLASS && bytes[at + 6] === TMC_SUBCLASS)
        found = { number: bytes[at + 2]!, protocol: bytes[at + 7]! }
    } else if (kind === DESCRIPTOR.endpoint && found !== undefined) {
      const address = bytes[at + 2]!
      const transfer = bytes[at + 3]! & 3
      if (transfer === TRANSFER_TYPE.interrupt && (address & IN) !== 0) interruptIn = address
      else if (transfer === TRANSFER_TYPE.bulk && (address & IN) === 0) bulkOut = address
      else if (transfer === TRANSFER_TYPE.bulk) {
        bulkIn = address
        packetBytes = (bytes[at + 4]! | (bytes[at + 5]! << 8)) & 0x7ff
      }
    }
  }
  if (found === undefined || bulkOut === undefined || bulkIn === undefined) return undefined
  return { configuration: bytes[5]!, ...found, bulkOut, bulkIn, interruptIn, packetBytes }
}

/** The text of a string descriptor (UTF-16, low byte first). */
export function readString(bytes: Uint8Array): string {
  let text = ''
  const end = Math.min(bytes[0] ?? 0, bytes.length)
  for (let at = 2; at + 1 < end; at += 2) text += String.fromCharCode(bytes[at]! | (bytes[at + 1]! << 8))
  return text
}
