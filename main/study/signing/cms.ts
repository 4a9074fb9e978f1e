import * as asn1js from 'asn1js'
import * as pkijs from 'pkijs'
import { bufferOf, HASH, OID, sha256 } from './engine.ts'
import type { SigningKey } from './key.ts'
import { derOf } from './trial-authority.ts'

/** Asks for a time stamp over bytes: a token of RFC 3161; null where none is to be had now. */
export type Stamp = (data: Uint8Array) => Promise<Uint8Array | null>

interface CmsOptions {
  /** Written as signing-time; null where the document says it elsewhere, as a PDF does. */
  readonly utcUs: number | null
  readonly stamp?: Stamp
  /** What is enclosed, with its type; null: the signature is detached. */
  readonly enclosed?: { readonly type: string } | null
}

const attribute = (type: string, value: unknown) => new pkijs.Attribute({ type, values: [value] })

/** Which certificate signed, by its hash: RFC 5035, 3 (ESSCertIDv2 with the default hash SHA-256). */
async function signingCertificate(certificate: pkijs.Certificate): Promise<pkijs.Attribute> {
  const hash = new asn1js.OctetString({ valueHex: await sha256(derOf(certificate)) })
  const id = new asn1js.Sequence({ value: [hash] })
  return attribute(
    OID.signingCertificateV2,
    new asn1js.Sequence({ value: [new asn1js.Sequence({ value: [id] })] }),
  )
}

/**
 * A CMS signature in DER, detached unless told otherwise, with the attributes of the CAdES baseline: content type, digest,
 * the signing certificate, and a time stamp over the signature where one is to be had.
 *
 * Source: RFC 5652, 5 and 11; ETSI EN 319 122-1, 5.2 and 6 (numbers of the clauses from memory).
 */
export async function signCms(
  data: Uint8Array,
  { key, certificate, chain }: SigningKey,
  { utcUs, stamp, enclosed = null }: CmsOptions,
): Promise<Uint8Array> {
  const eContentType = enclosed?.type ?? OID.data
  const attributes = [
    attribute(OID.contentType, new asn1js.ObjectIdentifier({ value: eContentType })),
    ...(utcUs === null
      ? []
      : [attribute(OID.signingTime, new asn1js.UTCTime({ valueDate: new Date(Math.floor(utcUs / 1000)) }))]),
    attribute(OID.messageDigest, new asn1js.OctetString({ valueHex: await sha256(data) })),
    await signingCertificate(certificate),
  ]
  const signer = new pkijs.SignerInfo({
    version: 1,
    sid: new pkijs.IssuerAndSerialNumber({
      issuer: certificate.issuer,
      serialNumber: certificate.serialNumber,
    }),
    signedAttrs: new pkijs.SignedAndUnsignedAttributes({ type: 0, attributes }),
  })
  const signed = new pkijs.SignedData({
    version: enclosed ? 3 : 1,
    encapContentInfo: new pkijs.EncapsulatedContentInfo({
      eContentType,
    }),
    signerInfos: [signer],
    certificates: [certificate, ...chain],
  })
  // Given to its constructor, the library would cut the octets into pieces, which is no DER.
  if (enclosed) signed.encapContentInfo.eContent = new asn1js.OctetString({ valueHex: bufferOf(data) })
  await signed.sign(key, 0, HASH, bufferOf(data))
  const token = await stamp?.(new Uint8Array(signer.signature.valueBlock.valueHexView))
  if (token) {
    const content = asn1js.fromBER(bufferOf(token)).result
    signer.unsignedAttrs = new pkijs.SignedAndUnsignedAttributes({
      type: 1,
      attributes: [attribute(OID.timeStampToken, content)],
    })
  }
  const content = new pkijs.ContentInfo({ contentType: OID.signedData, content: signed.toSchema(true) })
  return new Uint8Array(content.toSchema().toBER(false))
}
