import { PacketCutter, PacketError } from './packets.ts'
import { viewOf } from './view.ts'

/** Modbus: function codes and exception codes (Modbus Application Protocol V1.1b3, 6 and 7; numbers from memory). */
export const FUNCTION = {
  readHolding: 3,
  readInput: 4,
  writeSingle: 6,
  writeMultiple: 16,
  deviceIdentification: 43,
} as const

export const EXCEPTION = { function: 1, address: 2, value: 3, failure: 4, targetSilent: 11 } as const

export const EXCEPTION_WORDS: Readonly<Record<number, string>> = {
  1: 'illegal function',
  2: 'illegal data address',
  3: 'illegal data value',
  4: 'server device failure',
  5: 'acknowledge',
  6: 'server device busy',
  8: 'memory parity error',
  10: 'gateway path unavailable',
  11: 'gateway target device failed to respond',
}

/** TCP port, as registered. */
export const MODBUS_PORT = 502
/** Set in the function code of a response that is an exception. */
export const IS_EXCEPTION = 0x80
/** Registers of one read, and of one write, at most. */
export const MOST_READ = 125
export const MOST_WRITTEN = 123

/** What both framings carry: whom it concerns, and function code with data. */
export interface ModbusFrame {
  /** Transaction; 0 on a serial line, which has none. */
  readonly transaction: number
  readonly unit: number
  readonly pdu: Uint8Array
}

/** A frame over TCP: MBAP header, then the PDU (Modbus Messaging on TCP/IP V1.0b, 3.1.3; number from memory). */
export function writeTcp({ transaction, unit, pdu }: ModbusFrame): Uint8Array {
  const bytes = new Uint8Array(7 + pdu.length)
  bytes[0] = transaction >> 8
  bytes[1] = transaction & 0xff
  bytes[4] = (pdu.length + 1) >> 8
  bytes[5] = (pdu.length + 1) & 0xff
  bytes[6] = unit
  bytes.set(pdu, 7)
  return bytes
}

export function tcpCutter(take: (frame: ModbusFrame) => void): PacketCutter {
  return new PacketCutter(
    {
      headBytes: 6,
      lengthOf: (view, at) => {
        const length = view.getUint16(at + 4)
        if (view.getUint16(at + 2) !== 0 || length < 2 || length > 254)
          throw new PacketError('a frame that is not Modbus')
        return 6 + length
      },
    },
    (packet) => {
      const view = viewOf(packet)
      take({ transaction: view.getUint16(0), unit: view.getUint8(6), pdu: packet.subarray(7) })
    },
  )
}

/** A frame on a serial line: unit, PDU, CRC with its low byte first (Modbus over Serial Line V1.02, 2.5.1; from memory). */
export function writeRtu({ unit, pdu }: Pick<ModbusFrame, 'unit' | 'pdu'>): Uint8Array {
  const bytes = new Uint8Array(pdu.length + 3)
  bytes[0] = unit
  bytes.set(pdu, 1)
  const crc = crc16(bytes.subarray(0, pdu.length + 1))
  bytes[pdu.length + 1] = crc & 0xff
  bytes[pdu.length + 2] = crc >> 8
  return bytes
}

/**
 * Cuts a serial line into frames by the length that their function code tells, since pauses do not survive adapters and
 * gateways. A frame whose CRC does not agree, or whose function tells no length, throws PacketError.
 */
export function rtuCutter(side: 'requests' | 'replies', take: (frame: ModbusFrame) => void): PacketCutter {
  return new PacketCutter(
    { headBytes: 2, lengthOf: side === 'requests' ? requestLength : replyLength },
    (packet) => {
      const view = viewOf(packet)
      const crc = view.getUint16(packet.length - 2, true)
      if (crc16(packet.subarray(0, packet.length - 2)) !== crc)
        throw new PacketError('a frame whose check value does not agree')
      take({ transaction: 0, unit: view.getUint8(0), pdu: packet.subarray(1, packet.length - 2) })
    },
  )
}

function requestLength(view: DataView, at: number, left: number): number {
  switch (view.getUint8(at + 1)) {
    case FUNCTION.readHolding:
    case FUNCTION.readInput:
    case FUNCTION.writeSingle:
      return 8
    case FUNCTION.writeMultiple:
      return left < 7 ? 0 : 9 + view.getUint8(at + 6)
    case FUNCTION.deviceIdentification:
      return 7
    default:
      throw new PacketError('a function whose length is not known')
  }
}

function replyLength(view: DataView, at: number, left: number): number {
  const code = view.getUint8(at + 1)
  if ((code & IS_EXCEPTION) !== 0) return 5
  switch (code) {
    case FUNCTION.readHolding:
    case FUNCTION.readInput:
      return left < 3 ? 0 : 5 + view.getUint8(at + 2)
    case FUNCTION.writeSingle:
    case FUNCTION.writeMultiple:
      return 8
    default:
      throw new PacketError('a function whose length is not known')
  }
}

/** CRC-16 of a serial line (polynomial A001, beginning with FFFF; Modbus over Serial Line V1.02, appendix B; from memory). */
export function crc16(bytes: Uint8Array): number {
  let crc = 0xffff
  for (const byte of bytes) {
    crc ^= byte
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >> 1) ^ 0xa001 : crc >> 1
  }
  return crc
}

export function readRequest(table: 'holding' | 'input', address: number, count: number): Uint8Array {
  return words(table === 'holding' ? FUNCTION.readHolding : FUNCTION.readInput, [address, count])
}

/** One register with function 6, several with function 16. */
export function writeRequest(address: number, values: readonly number[]): Uint8Array {
  if (values.length === 1) return words(FUNCTION.writeSingle, [address, ...values])
  const bytes = new Uint8Array(6 + 2 * values.length)
  bytes.set(words(FUNCTION.writeMultiple, [address, values.length]))
  bytes[5] = 2 * values.length
  const view = new DataView(bytes.buffer)
  values.forEach((value, i) => {
    view.setUint16(6 + 2 * i, value)
  })
  return bytes
}

/** A function code and 16-bit numbers behind it. */
export function words(code: number, values: readonly number[]): Uint8Array {
  const bytes = new Uint8Array(1 + 2 * values.length)
  bytes[0] = code
  const view = new DataView(bytes.buffer)
  values.forEach((value, i) => {
    view.setUint16(1 + 2 * i, value)
  })
  return bytes
}
