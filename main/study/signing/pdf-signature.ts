import { SignPdf } from '@signpdf/signpdf'
import { DEFAULT_BYTE_RANGE_PLACEHOLDER, Signer } from '@signpdf/utils'
import { type Stamp, signCms } from './cms.ts'
import type { SigningKey } from './key.ts'

class CmsSigner extends Signer {
  readonly #key: SigningKey
  readonly #stamp: Stamp | undefined

  constructor(key: SigningKey, stamp: Stamp | undefined) {
    super()
    this.#key = key
    this.#stamp = stamp
  }

  override async sign(data: Buffer): Promise<Buffer> {
    const options = { utcUs: null, ...(this.#stamp && { stamp: this.#stamp }) }
    return Buffer.from(await signCms(data, this.#key, options))
  }
}

/** Signs a PDF that has room for it (PAdES baseline): every byte but the signature's own is under it. */
export async function signPdf(pdf: Uint8Array, key: SigningKey, stamp?: Stamp): Promise<Uint8Array> {
  return new Uint8Array(await new SignPdf().sign(Buffer.from(pdf), new CmsSigner(key, stamp)))
}

const RANGE = /\/ByteRange\s*\[\s*(\d+)\s+(\d+)\s+(\d+)\s+(\d+)\s*\]/

/** What the signature of a PDF is over, and the signature itself; null where the file has none. */
export function signedPartOf(pdf: Uint8Array): { data: Uint8Array; cms: Uint8Array } | null {
  const buffer = Buffer.from(pdf)
  const range = RANGE.exec(buffer.toString('latin1'))
  if (!range) return null
  const [a, n, b, m] = range.slice(1).map(Number) as [number, number, number, number]
  if (a !== 0 || b < n || b + m !== buffer.length) return null
  const hex = buffer.subarray(n + 1, b - 1).toString('latin1')
  const bytes = Buffer.from(hex, 'hex')
  const length = derLength(bytes)
  return {
    data: new Uint8Array(Buffer.concat([buffer.subarray(0, n), buffer.subarray(b)])),
    cms: new Uint8Array(bytes.subarray(0, length)),
  }
}

/** Length of a DER value with its head: what comes after it fills the room. */
function derLength(bytes: Buffer): number {
  const first = bytes[1] ?? 0
  if (first < 0x80) return 2 + first
  const count = first & 0x7f
  return 2 + count + bytes.readUIntBE(2, Math.min(6, count))
}

/** A PDF with its room empty, as it was before it was signed: what printing the certificate again gives. */
export function withoutSignature(pdf: Uint8Array): Uint8Array {
  const buffer = Buffer.from(pdf)
  const text = buffer.toString('latin1')
  const range = RANGE.exec(text)
  if (!range) return pdf
  const [, n, b] = range.slice(1).map(Number) as [number, number, number]
  buffer.fill('0', n + 1, b - 1)
  // The room's own words, as long as the numbers that took their place.
  const before = `/ByteRange [0 ${new Array(3).fill(`/${DEFAULT_BYTE_RANGE_PLACEHOLDER}`).join(' ')}]`
  buffer.write(before.padEnd(range[0].length), range.index, 'latin1')
  // The line end after the last mark is taken off when a file is signed.
  return new Uint8Array(buffer.at(-1) === 0x0a ? buffer : Buffer.concat([buffer, Buffer.from('\n')]))
}
