import { webcrypto } from 'node:crypto'
import * as pkijs from 'pkijs'

/** The runtime's own cryptography behind the library of certificates and signatures. */
export const crypto = webcrypto as unknown as Crypto

pkijs.setEngine('stillpoint', new pkijs.CryptoEngine({ name: 'stillpoint', crypto, subtle: crypto.subtle }))

/** Bytes as the library takes them, in a buffer of their own. */
export function bufferOf(data: Uint8Array | string): ArrayBuffer {
  const bytes = typeof data === 'string' ? new TextEncoder().encode(data) : data
  // A Buffer's own slice shares its memory with others.
  return Uint8Array.from(bytes).buffer
}

export const sha256 = async (data: Uint8Array | string): Promise<ArrayBuffer> =>
  crypto.subtle.digest('SHA-256', bufferOf(data))

export const HASH = 'SHA-256'

/** Object identifiers: RFC 5652, 5035 and 3161, RFC 5280; ETSI EN 319 122-1 for what signs with them. */
export const OID = {
  data: '1.2.840.113549.1.7.1',
  signedData: '1.2.840.113549.1.7.2',
  contentType: '1.2.840.113549.1.9.3',
  messageDigest: '1.2.840.113549.1.9.4',
  signingTime: '1.2.840.113549.1.9.5',
  signingCertificateV2: '1.2.840.113549.1.9.16.2.47',
  timeStampToken: '1.2.840.113549.1.9.16.2.14',
  tstInfo: '1.2.840.113549.1.9.16.1.4',
  commonName: '2.5.4.3',
  organisation: '2.5.4.10',
  basicConstraints: '2.5.29.19',
  keyUsage: '2.5.29.15',
  extendedKeyUsage: '2.5.29.37',
  subjectKeyIdentifier: '2.5.29.14',
  authorityKeyIdentifier: '2.5.29.35',
  timeStamping: '1.3.6.1.5.5.7.3.8',
} as const
