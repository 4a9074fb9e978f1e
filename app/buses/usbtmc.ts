import { viewOf } from './view.ts'

/**
 * USBTMC revision 1.0 (14 April 2003) and its subclass USB488: message headers, requests and answers. Numbers are those of
 * the kernel's public header linux/usb/tmc.h where it has them; the rest, and the numbers of sections, from memory.
 */
export const MESSAGE = { devDepOut: 1, requestDevDepIn: 2, devDepIn: 2, trigger: 128 } as const

/** Class requests; all of them are control transfers from the device to the host. */
export const REQUEST = {
  initiateAbortBulkOut: 1,
  checkAbortBulkOutStatus: 2,
  initiateAbortBulkIn: 3,
  checkAbortBulkInStatus: 4,
  initiateClear: 5,
  checkClearStatus: 6,
  getCapabilities: 7,
  indicatorPulse: 64,
  readStatusByte: 128,
  renControl: 160,
  goToLocal: 161,
  localLockout: 162,
} as const

export const STATUS = {
  success: 1,
  pending: 2,
  interruptInBusy: 0x20,
  failed: 0x80,
  notInProgress: 0x81,
  splitNotInProgress: 0x82,
  splitInProgress: 0x83,
} as const

/** Class, subclass and protocols of the interface (USBTMC 1.0, 5.5; USB488 1.0, 5). */
export const TMC_CLASS = 0xfe
export const TMC_SUBCLASS = 3
export const USB488_PROTOCOL = 1

export const HEADER_BYTES = 12
/** bmTransferAttributes: end of message; of a request, that the termination character counts. */
export const EOM = 1
/** bTag of READ_STATUS_BYTE (USB488 1.0, 4.3.1); 1 in the interrupt packet means a request for service. */
export const STATUS_TAGS = { first: 2, last: 127 } as const
export const SERVICE_REQUEST = 0x81

/** USB488 interface capabilities (offset 14) and device capabilities (offset 15) that matter here. */
export const CAPABILITY = { trigger: 1, remote: 2, is4882: 4 } as const
export const DEVICE_CAPABILITY = { serviceRequest: 4 } as const
export const CAPABILITIES_BYTES = 24

/** The tag after this one: 1 to 255, never the same twice in a row. */
export const nextTag = (tag: number): number => (tag % 255) + 1

export interface BulkHeader {
  readonly message: number
  readonly tag: number
  /** Bytes of the message in this transfer, or the most that are asked for. */
  readonly size: number
  readonly attributes: number
}

/** DEV_DEP_MSG_OUT or DEV_DEP_MSG_IN with its data, filled up to a multiple of four bytes (USBTMC 1.0, 3.2.1.1 and 3.3.1.1). */
export function writeBulk(message: number, tag: number, data: Uint8Array, isEnd: boolean): Uint8Array {
  const bytes = new Uint8Array((HEADER_BYTES + data.length + 3) & ~3)
  writeHeader(bytes, message, tag, data.length, isEnd ? EOM : 0)
  bytes.set(data, HEADER_BYTES)
  return bytes
}

/** REQUEST_DEV_DEP_MSG_IN without termination character (USBTMC 1.0, 3.2.1.2). */
export function writeAsk(tag: number, most: number): Uint8Array {
  const bytes = new Uint8Array(HEADER_BYTES)
  writeHeader(bytes, MESSAGE.requestDevDepIn, tag, most, 0)
  return bytes
}

/** TRIGGER of USB488: a header alone, whose other fields are reserved (USB488 1.0, 3.2.1.1; number from memory). */
export function writeTrigger(tag: number): Uint8Array {
  const bytes = new Uint8Array(HEADER_BYTES)
  writeHeader(bytes, MESSAGE.trigger, tag, 0, 0)
  return bytes
}

function writeHeader(
  bytes: Uint8Array,
  message: number,
  tag: number,
  size: number,
  attributes: number,
): void {
  bytes[0] = message
  bytes[1] = tag
  bytes[2] = ~tag & 0xff
  bytes[4] = size
  bytes[5] = size >>> 8
  bytes[6] = size >>> 16
  bytes[7] = size >>> 24
  bytes[8] = attributes
}

/** The header of a bulk transfer; undefined where there is none: too short, tag and its inverse not alike, tag 0. */
export function readHeader(bytes: Uint8Array): BulkHeader | undefined {
  if (bytes.length < HEADER_BYTES) return undefined
  const view = viewOf(bytes)
  const tag = view.getUint8(1)
  if (tag === 0 || view.getUint8(2) !== (~tag & 0xff)) return undefined
  return { message: view.getUint8(0), tag, size: view.getUint32(4, true), attributes: view.getUint8(8) }
}
