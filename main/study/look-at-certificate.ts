import { createHash } from 'node:crypto'
import { type DccReading, readDcc } from '../../app/dcc/read.ts'
import { rootsOf } from './signing/look-at-signed.ts'
import { verdictWords, verifyXml } from './signing/verify.ts'

/** A certificate as it was read: what it says, whose signature it bears. */
export interface LookedAt {
  readonly reading: DccReading
  /** Whose signature it is, in words. */
  readonly signature: string
  readonly broken: boolean
  readonly sha256: string
}

/**
 * Reads a certificate and checks its signature against the roots in the data folder, `keys/roots/*.pem`. Throws DccInError for
 * what is no certificate.
 */
export async function lookAtCertificate(
  folder: string,
  bytes: Uint8Array,
  nowUtcUs: number,
): Promise<LookedAt> {
  const text = new TextDecoder('utf-8', { fatal: false }).decode(bytes)
  const reading = readDcc(text)
  const verdict = await verifyXml(text, rootsOf(folder), nowUtcUs)
  return {
    reading,
    signature: verdictWords(verdict),
    broken: verdict.state === 'broken',
    sha256: createHash('sha256').update(bytes).digest('hex'),
  }
}
