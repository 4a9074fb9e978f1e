import { crc16 } from '../../app/buses/modbus.ts'
import { bytesOf } from '../../app/buses/packets.ts'

/** The ways instruments guard a line. All work on bytes, one character each. */
export const CHECKSUMS = [
  'xor',
  'sum8',
  'negated-sum8',
  'sum16',
  'lrc',
  'crc8',
  'crc16-modbus',
  'crc16-ccitt',
] as const
export type ChecksumKind = (typeof CHECKSUMS)[number]

export const CHECKSUM_FORMS = ['hex-upper', 'hex-lower', 'decimal', 'bytes'] as const
export type ChecksumForm = (typeof CHECKSUM_FORMS)[number]

/**
 * The check value of some bytes. xor and lrc (two's complement of the sum, as in ISO 1155's use by serial protocols;
 * common practice, no source) and the 8-bit sums give one byte; sum16 and the CRC-16s two.
 *
 * Source  CRC parameters: common catalogue names, from memory: crc8 (poly 07, init 00), crc16-modbus (poly 8005 reflected,
 *         init FFFF), crc16-ccitt (poly 1021, init FFFF).
 */
export function checksum(kind: ChecksumKind, bytes: string): number {
  switch (kind) {
    case 'xor':
      return fold(bytes, 0, (value, byte) => value ^ byte)
    case 'sum8':
      return fold(bytes, 0, (value, byte) => (value + byte) & 0xff)
    case 'negated-sum8':
    case 'lrc':
      return -fold(bytes, 0, (value, byte) => (value + byte) & 0xff) & 0xff
    case 'sum16':
      return fold(bytes, 0, (value, byte) => (value + byte) & 0xffff)
    case 'crc8':
      return fold(bytes, 0, (value, byte) => crcLeft(value ^ byte, 0x07, 8))
    case 'crc16-modbus':
      return crc16(bytesOf(bytes))
    case 'crc16-ccitt':
      return fold(bytes, 0xffff, (value, byte) => crcLeft(value ^ (byte << 8), 0x1021, 16))
  }
}

/** How many bytes the check value has. */
function checksumBytes(kind: ChecksumKind): 1 | 2 {
  return kind === 'sum16' || kind.startsWith('crc16') ? 2 : 1
}

/** The check value as it stands in the line. CRC-16 of Modbus goes low byte first when sent as bytes. */
export function printChecksum(kind: ChecksumKind, form: ChecksumForm, bytes: string): string {
  const value = checksum(kind, bytes)
  const size = checksumBytes(kind)
  const hex = value.toString(16).padStart(size * 2, '0')
  switch (form) {
    case 'hex-upper':
      return hex.toUpperCase()
    case 'hex-lower':
      return hex
    case 'decimal':
      return String(value).padStart(size === 1 ? 3 : 5, '0')
    case 'bytes': {
      const high = String.fromCharCode(value >> 8)
      const low = String.fromCharCode(value & 0xff)
      return size === 1 ? low : kind === 'crc16-modbus' ? low + high : high + low
    }
  }
}

/** Characters the printed check value takes. */
export function checksumWidth(kind: ChecksumKind, form: ChecksumForm): number {
  const size = checksumBytes(kind)
  if (form === 'bytes') return size
  if (form === 'decimal') return size === 1 ? 3 : 5
  return size * 2
}

function fold(bytes: string, start: number, step: (value: number, byte: number) => number): number {
  let value = start
  for (let i = 0; i < bytes.length; i++) value = step(value, bytes.charCodeAt(i))
  return value
}

function crcLeft(value: number, polynomial: number, width: 8 | 16): number {
  const top = 1 << (width - 1)
  const mask = (1 << width) - 1
  let crc = value
  for (let bit = 0; bit < 8; bit++) crc = crc & top ? ((crc << 1) ^ polynomial) & mask : (crc << 1) & mask
  return crc
}
