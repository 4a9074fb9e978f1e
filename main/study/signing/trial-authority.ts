import * as asn1js from 'asn1js'
import * as pkijs from 'pkijs'
import { bufferOf, crypto, HASH, OID } from './engine.ts'
import type { SigningKey } from './key.ts'

/** An authority made on the spot, for trials: whoever verifies has to be given its root. */
export interface TrialAuthority {
  /** The root's certificate as PEM. */
  readonly rootPem: string
  readonly root: SigningKey
  readonly signer: SigningKey
  readonly stamper: SigningKey
}

const RSA = {
  name: 'RSASSA-PKCS1-v1_5',
  modulusLength: 2048,
  publicExponent: new Uint8Array([1, 0, 1]),
  hash: HASH,
}
const DAY_MS = 86_400_000
const YEARS_20_MS = 20 * 365.25 * DAY_MS

const name = (type: string, text: string) =>
  new pkijs.AttributeTypeAndValue({ type, value: new asn1js.Utf8String({ value: text }) })

const extension = (extnID: string, critical: boolean, value: asn1js.AsnType | pkijs.PkiObject) =>
  new pkijs.Extension({
    extnID,
    critical,
    extnValue: (value instanceof pkijs.PkiObject ? value.toSchema() : value).toBER(false),
  })

interface Wanted {
  readonly commonName: string
  readonly organisation: string
  readonly use: 'root' | 'sign' | 'stamp'
  readonly from: Date
  readonly to: Date
  readonly serial: number
}

/** Bits of KeyUsage, RFC 5280, 4.2.1.3, the first one highest. */
const USAGE = { root: [0x06, 1], sign: [0xc0, 6], stamp: [0xc0, 6] } as const

async function keyIdentifier(certificate: pkijs.Certificate): Promise<ArrayBuffer> {
  return crypto.subtle.digest(
    'SHA-1',
    certificate.subjectPublicKeyInfo.subjectPublicKey.valueBlock.valueHexView as BufferSource,
  )
}

async function issue(wanted: Wanted, issuer: SigningKey | null): Promise<SigningKey> {
  const pair = (await crypto.subtle.generateKey(RSA, true, ['sign', 'verify'])) as CryptoKeyPair
  const certificate = new pkijs.Certificate()
  certificate.version = 2
  certificate.serialNumber = new asn1js.Integer({ value: wanted.serial })
  certificate.subject.typesAndValues.push(
    name(OID.commonName, `${wanted.commonName}, ${wanted.organisation}`),
  )
  certificate.issuer.typesAndValues.push(...(issuer?.certificate ?? certificate).subject.typesAndValues)
  certificate.notBefore.value = wanted.from
  certificate.notAfter.value = wanted.to
  await certificate.subjectPublicKeyInfo.importKey(pair.publicKey)
  const own = await keyIdentifier(certificate)
  const [usage, unused] = USAGE[wanted.use]
  certificate.extensions = [
    extension(
      OID.basicConstraints,
      true,
      new pkijs.BasicConstraints(wanted.use === 'root' ? { cA: true } : {}),
    ),
    extension(
      OID.keyUsage,
      true,
      new asn1js.BitString({ valueHex: new Uint8Array([usage]).buffer, unusedBits: unused }),
    ),
    extension(OID.subjectKeyIdentifier, false, new asn1js.OctetString({ valueHex: own })),
    extension(
      OID.authorityKeyIdentifier,
      false,
      new pkijs.AuthorityKeyIdentifier({
        keyIdentifier: new asn1js.OctetString({
          valueHex: issuer ? await keyIdentifier(issuer.certificate) : own,
        }),
      }),
    ),
    ...(wanted.use === 'stamp'
      ? [extension(OID.extendedKeyUsage, true, new pkijs.ExtKeyUsage({ keyPurposes: [OID.timeStamping] }))]
      : []),
  ]
  await certificate.sign(issuer?.key ?? pair.privateKey, HASH)
  return { key: pair.privateKey, certificate, chain: issuer ? [issuer.certificate] : [] }
}

export const derOf = (certificate: pkijs.Certificate): Uint8Array =>
  new Uint8Array(certificate.toSchema(true).toBER(false))

const pem = (der: Uint8Array, label: string): string =>
  `-----BEGIN ${label}-----\n${Buffer.from(der)
    .toString('base64')
    .replace(/.{64}(?=.)/g, '$&\n')}\n-----END ${label}-----\n`

/** A root, a signer and a stamping service with it, valid from a day before a time for twenty years. */
export async function makeTrialAuthority(
  signer: string,
  organisation: string,
  utcUs: number,
): Promise<TrialAuthority> {
  const from = new Date(Math.floor(utcUs / 1000) - DAY_MS)
  const valid = { from, to: new Date(from.getTime() + YEARS_20_MS), organisation: `${organisation} (trial)` }
  const root = await issue({ ...valid, commonName: 'Trial root', use: 'root', serial: 1 }, null)
  return {
    root,
    rootPem: pem(derOf(root.certificate), 'CERTIFICATE'),
    signer: await issue({ ...valid, commonName: signer, use: 'sign', serial: 2 }, root),
    stamper: await issue({ ...valid, commonName: 'Trial time stamps', use: 'stamp', serial: 3 }, root),
  }
}

/** A key as a PKCS#12 file: encrypted with AES-256 (PBES2), its integrity held by HMAC-SHA-256. */
export async function writeKey(
  { key, certificate, chain }: SigningKey,
  password: string,
): Promise<Uint8Array> {
  const secret = bufferOf(password)
  const info = pkijs.PrivateKeyInfo.fromBER(await crypto.subtle.exportKey('pkcs8', key))
  const bag = new pkijs.PKCS8ShroudedKeyBag({ parsedValue: info })
  const encryption = {
    password: secret,
    contentEncryptionAlgorithm: { name: 'AES-CBC', length: 256 },
    hmacHashAlgorithm: HASH,
    iterationCount: 100_000,
  }
  await (bag as unknown as { makeInternalValues(p: typeof encryption): Promise<void> }).makeInternalValues(
    encryption,
  )
  const certificates = [certificate, ...chain].map(
    (own) =>
      new pkijs.SafeBag({
        bagId: '1.2.840.113549.1.12.10.1.3',
        bagValue: new pkijs.CertBag({ parsedValue: own }),
      }),
  )
  const pfx = new pkijs.PFX({
    parsedValue: {
      integrityMode: 0,
      authenticatedSafe: new pkijs.AuthenticatedSafe({
        parsedValue: {
          safeContents: [
            {
              privacyMode: 0,
              value: new pkijs.SafeContents({
                safeBags: [
                  new pkijs.SafeBag({ bagId: '1.2.840.113549.1.12.10.1.2', bagValue: bag }),
                  ...certificates,
                ],
              }),
            },
          ],
        },
      }),
    },
  })
  await pfx.parsedValue!.authenticatedSafe!.makeInternalValues({ safeContents: [{}] })
  await pfx.makeInternalValues({
    password: secret,
    iterations: 100_000,
    pbkdf2HashAlgorithm: HASH,
    hmacHashAlgorithm: HASH,
  })
  return new Uint8Array(pfx.toSchema().toBER(false))
}
