import * as pkijs from 'pkijs'
import { said } from '../../../app/messages/said.ts'
import { bufferOf, crypto, HASH, OID } from './engine.ts'
import { SigningError } from './signing-error.ts'

/** A private key with the certificate it belongs to, and those between it and its root. */
export interface SigningKey {
  readonly key: CryptoKey
  readonly certificate: pkijs.Certificate
  readonly chain: readonly pkijs.Certificate[]
}

const KEY_BAG = '1.2.840.113549.1.12.10.1.1'
const SHROUDED_KEY_BAG = '1.2.840.113549.1.12.10.1.2'
const CERTIFICATE_BAG = '1.2.840.113549.1.12.10.1.3'
const RSA = '1.2.840.113549.1.1.1'
const EC = '1.2.840.10045.2.1'

/** Name of a certificate's subject as a person reads it. */
export const nameOf = (name: pkijs.RelativeDistinguishedNames): string =>
  name.typesAndValues
    .filter(({ type }) => type === OID.commonName || type === OID.organisation)
    .map(({ value }) => String(value.valueBlock.value))
    .join(', ')

async function bagsOf(data: Uint8Array, password: string): Promise<pkijs.SafeBag[]> {
  let pfx: pkijs.PFX
  try {
    pfx = pkijs.PFX.fromBER(bufferOf(data))
  } catch (cause) {
    throw new SigningError('bad-key-file', said('key-not-pkcs12', {}), {}, cause)
  }
  const secret = bufferOf(password)
  try {
    await pfx.parseInternalValues({ password: secret, checkIntegrity: true })
    const safe = pfx.parsedValue!.authenticatedSafe!
    await safe.parseInternalValues({ safeContents: safe.safeContents.map(() => ({ password: secret })) })
    const contents = safe.parsedValue.safeContents as { value: pkijs.SafeContents }[]
    return contents.flatMap(({ value }) => value.safeBags)
  } catch (cause) {
    throw new SigningError('wrong-password', said('key-not-opened', {}), {}, cause)
  }
}

async function importKey(info: pkijs.PrivateKeyInfo): Promise<CryptoKey> {
  const pkcs8 = info.toSchema().toBER(false)
  const { algorithmId } = info.privateKeyAlgorithm
  if (algorithmId === RSA) {
    const algorithm = { name: 'RSASSA-PKCS1-v1_5', hash: HASH }
    return crypto.subtle.importKey('pkcs8', pkcs8, algorithm, true, ['sign'])
  }
  if (algorithmId === EC) {
    for (const namedCurve of ['P-256', 'P-384', 'P-521']) {
      try {
        return await crypto.subtle.importKey('pkcs8', pkcs8, { name: 'ECDSA', namedCurve }, true, ['sign'])
      } catch {
        // Another curve.
      }
    }
  }
  throw new SigningError('no-key', said('key-of-other-algorithm', {}))
}

/**
 * Reads a PKCS#12 file. Throws SigningError 'bad-key-file' | 'wrong-password' | 'no-key'.
 *
 * Source: RFC 7292; encryption by PBES2 (RFC 8018).
 */
export async function readKey(data: Uint8Array, password: string): Promise<SigningKey> {
  const bags = await bagsOf(data, password)
  let info: pkijs.PrivateKeyInfo | undefined
  const certificates: pkijs.Certificate[] = []
  for (const { bagId, bagValue } of bags) {
    if (bagId === KEY_BAG) info = bagValue as pkijs.PrivateKeyInfo
    if (bagId === CERTIFICATE_BAG)
      certificates.push((bagValue as pkijs.CertBag).parsedValue as pkijs.Certificate)
    if (bagId === SHROUDED_KEY_BAG) {
      const bag = bagValue as pkijs.PKCS8ShroudedKeyBag & {
        parseInternalValues(parameters: { password: ArrayBuffer }): Promise<void>
      }
      await bag.parseInternalValues({ password: bufferOf(password) })
      info = bag.parsedValue
    }
  }
  if (!info) throw new SigningError('no-key', said('key-file-without-key', {}))
  const key = await importKey(info)
  const own = await ownCertificate(key, certificates)
  return { key, certificate: own, chain: certificates.filter((c) => c !== own) }
}

/** The certificate whose public key belongs to a private one: what the key signs, that certificate verifies. */
async function ownCertificate(
  key: CryptoKey,
  certificates: readonly pkijs.Certificate[],
): Promise<pkijs.Certificate> {
  const trial = new Uint8Array([83, 116, 105, 108, 108])
  const algorithm =
    key.algorithm.name === 'ECDSA' ? { name: 'ECDSA', hash: HASH } : { name: key.algorithm.name }
  const signature = await crypto.subtle.sign(algorithm, key, trial)
  for (const certificate of certificates) {
    try {
      const publicKey = await certificate.getPublicKey({
        algorithm: { algorithm: { ...key.algorithm, hash: { name: HASH } }, usages: ['verify'] },
      } as never)
      if (await crypto.subtle.verify(algorithm, publicKey, signature, trial)) return certificate
    } catch {
      // A certificate of another kind of key.
    }
  }
  throw new SigningError('no-key', said('key-without-certificate', {}))
}

/** Throws SigningError 'key-expired' where a certificate does not hold at a time. */
export function checkValid({ certificate }: SigningKey, utcUs: number): void {
  const [from, to] = [certificate.notBefore.value, certificate.notAfter.value]
  const at = utcUs / 1000
  if (at >= from.getTime() && at <= to.getTime()) return
  const day = (date: Date) => date.toISOString().slice(0, 10)
  throw new SigningError(
    'key-expired',
    said('key-out-of-date', {
      subject: nameOf(certificate.subject),
      from: day(from),
      to: day(to),
      day: day(new Date(at)),
    }),
  )
}
