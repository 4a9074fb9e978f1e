import { PacketCutter, PacketError } from './packets.ts'
import { viewOf } from './view.ts'

/**
 * HiSLIP, IVI-6.1: header, message types and codes (its tables of section 2, from memory; compared with the client of
 * pyvisa-py, which has them from revision 1.1).
 */
export const HISLIP_PORT = 4880

export const TYPE = {
  initialize: 0,
  initializeResponse: 1,
  fatalError: 2,
  error: 3,
  asyncLock: 4,
  asyncLockResponse: 5,
  data: 6,
  dataEnd: 7,
  deviceClearComplete: 8,
  deviceClearAcknowledge: 9,
  asyncRemoteLocalControl: 10,
  asyncRemoteLocalResponse: 11,
  trigger: 12,
  interrupted: 13,
  asyncInterrupted: 14,
  asyncMaximumMessageSize: 15,
  asyncMaximumMessageSizeResponse: 16,
  asyncInitialize: 17,
  asyncInitializeResponse: 18,
  asyncDeviceClear: 19,
  asyncServiceRequest: 20,
  asyncStatusQuery: 21,
  asyncStatusResponse: 22,
  asyncDeviceClearAcknowledge: 23,
  asyncLockInfo: 24,
  asyncLockInfoResponse: 25,
} as const

export const FATAL = {
  unidentified: 0,
  badHeader: 1,
  channelsNotEstablished: 2,
  badInitialization: 3,
  tooManyClients: 4,
} as const

export const NON_FATAL = {
  unidentified: 0,
  unknownType: 1,
  unknownControl: 2,
  unknownVendorMessage: 3,
  tooLarge: 4,
} as const

/** Control codes of AsyncLock and of its response. */
export const LOCK = { release: 0, request: 1, failure: 0, success: 1, sharedReleased: 2, error: 3 } as const
/** Control codes of AsyncRemoteLocalControl: enable remote and go to remote; go to local. */
export const REMOTE = { enableAndGo: 3, goToLocal: 6 } as const
/** Control bit of what a client sends: the answer before was taken by whoever asked. */
export const DELIVERED = 1

/** The protocol's version 1.0, in the upper half of a parameter. */
export const VERSION = 0x0100
/** MessageID after initialization and after a device clear; each message of the client counts two. */
export const FIRST_ID = 0xffff_ff00
/** A Data message (not DataEND) whose MessageID its sender does not tell. */
export const UNTOLD_ID = 0xffff_ffff

const PROLOGUE = 0x4853
const HEADER_BYTES = 16

export interface HislipMessage {
  readonly type: number
  readonly control: number
  readonly parameter: number
  readonly payload: Uint8Array
}

const NOTHING = new Uint8Array(0)

/** One message as it goes out. */
export function writeMessage(
  type: number,
  control: number,
  parameter: number,
  payload: Uint8Array = NOTHING,
): Uint8Array {
  const bytes = new Uint8Array(HEADER_BYTES + payload.length)
  const view = new DataView(bytes.buffer)
  view.setUint16(0, PROLOGUE)
  bytes[2] = type
  bytes[3] = control
  view.setUint32(4, parameter >>> 0)
  view.setUint32(12, payload.length)
  bytes.set(payload, HEADER_BYTES)
  return bytes
}

/** Cuts a channel into messages. A prologue that is none, or a payload beyond the limit, throws PacketError. */
export function messageCutter(maxPayload: number, take: (message: HislipMessage) => void): PacketCutter {
  return new PacketCutter(
    {
      headBytes: HEADER_BYTES,
      lengthOf: (view, at) => {
        if (view.getUint16(at) !== PROLOGUE) throw new PacketError('a message that does not begin with HS')
        const length = view.getUint32(at + 12)
        if (view.getUint32(at + 8) !== 0 || length > maxPayload)
          throw new PacketError('a message that is too long')
        return HEADER_BYTES + length
      },
    },
    (packet) => {
      const view = viewOf(packet)
      take({
        type: view.getUint8(2),
        control: view.getUint8(3),
        parameter: view.getUint32(4),
        payload: packet.subarray(HEADER_BYTES),
      })
    },
  )
}

/** The eight bytes of a maximum message size. */
export function writeSize(bytes: number): Uint8Array {
  const payload = new Uint8Array(8)
  const view = new DataView(payload.buffer)
  view.setUint32(0, Math.floor(bytes / 2 ** 32))
  view.setUint32(4, bytes >>> 0)
  return payload
}

export function readSize(payload: Uint8Array): number {
  if (payload.length !== 8) throw new PacketError('a message size that is not eight bytes')
  const view = new DataView(payload.buffer, payload.byteOffset, 8)
  return view.getUint32(0) * 2 ** 32 + view.getUint32(4)
}

/** Adds two to a MessageID, modulo 2^32. */
export const nextId = (id: number): number => (id + 2) >>> 0
