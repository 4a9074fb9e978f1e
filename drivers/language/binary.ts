/** Binary numbers as instruments send them: integers in two's complement, IEEE 754 single and double. */
export const NUMBER_TYPES = [
  'int8',
  'uint8',
  'int16',
  'uint16',
  'int32',
  'uint32',
  'int64',
  'uint64',
  'float32',
  'float64',
] as const
export type NumberType = (typeof NUMBER_TYPES)[number]

/** Bytes of one number. */
export const sizeOf = (type: NumberType): number => SIZES[type]

const SIZES = Object.fromEntries(
  NUMBER_TYPES.map((type) => [type, Number(/\d+$/.exec(type)![0]) / 8]),
) as Record<NumberType, number>

/** One number as decimal text: every digit of an integer, the shortest text of a binary one; NaN and Infinity in words. */
export function printBinary(view: DataView, at: number, type: NumberType, littleEndian: boolean): string {
  switch (type) {
    case 'int8':
      return String(view.getInt8(at))
    case 'uint8':
      return String(view.getUint8(at))
    case 'int16':
      return String(view.getInt16(at, littleEndian))
    case 'uint16':
      return String(view.getUint16(at, littleEndian))
    case 'int32':
      return String(view.getInt32(at, littleEndian))
    case 'uint32':
      return String(view.getUint32(at, littleEndian))
    case 'int64':
      return String(view.getBigInt64(at, littleEndian))
    case 'uint64':
      return String(view.getBigUint64(at, littleEndian))
    case 'float32':
      return shortest(view.getFloat32(at, littleEndian))
    case 'float64':
      return String(view.getFloat64(at, littleEndian))
  }
}

/** A number of a row: its text, and its bytes as they came, in hexadecimal. */
export interface BinaryNumber {
  readonly text: string
  readonly raw: string
}

/** The numbers of a row of bytes (one character each), one after another; undefined where the bytes do not come out even. */
export function readBinary(
  bytes: string,
  type: NumberType,
  order: 'big' | 'little',
): BinaryNumber[] | undefined {
  const size = sizeOf(type)
  if (bytes.length === 0 || bytes.length % size !== 0) return undefined
  const buffer = Buffer.from(bytes, 'latin1')
  const view = new DataView(buffer.buffer, buffer.byteOffset, buffer.length)
  return Array.from({ length: bytes.length / size }, (_each, i) => ({
    text: printBinary(view, i * size, type, order === 'little'),
    raw: `0x${buffer.toString('hex', i * size, (i + 1) * size).toUpperCase()}`,
  }))
}

/** The shortest decimal text that is this single-precision number (IEEE 754: nine digits are always enough). */
function shortest(value: number): string {
  if (!Number.isFinite(value)) return String(value)
  for (let digits = 7; digits < 9; digits++) {
    const number = Number(value.toPrecision(digits))
    if (Math.fround(number) === value) return String(number)
  }
  return String(Number(value.toPrecision(9)))
}
