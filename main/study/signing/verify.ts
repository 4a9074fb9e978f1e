import { DOMParser } from '@xmldom/xmldom'
import * as asn1js from 'asn1js'
import * as pkijs from 'pkijs'
import { SignedXml } from 'xadesjs'
import { first } from '../../../app/base/lists.ts'
import { bufferOf, OID } from './engine.ts'
import { nameOf } from './key.ts'
import { signedPartOf } from './pdf-signature.ts'
import { readStamp } from './time-stamp.ts'
import { stampedBytes } from './xml-signature.ts'

/** What a signature says, once looked at. */
export interface Verdict {
  /** `none`: there is no signature; `broken`: what was signed has been changed, or the signature is not one of what it stands on. */
  readonly state: 'none' | 'intact' | 'broken'
  /** Whose certificate signed, and who issued that; empty where there is no signature. */
  readonly signer: string
  readonly issuer: string
  /** Whether the certificate leads to a root that was given; null: no root was given. */
  readonly trusted: boolean | null
  /** Whether the certificate was valid when it signed: at the time of the stamp, else on the day of looking. */
  readonly inTime: boolean
  /** What the time stamp says; null: there is none. */
  readonly stamped: Date | null
  /** Whether the stamping service leads to a root that was given; null: there is no stamp, or no root was given. */
  readonly stampTrusted: boolean | null
}

const NONE: Verdict = {
  state: 'none',
  signer: '',
  issuer: '',
  trusted: null,
  inTime: false,
  stamped: null,
  stampTrusted: null,
}

const covers = ({ notBefore, notAfter }: pkijs.Certificate, at: Date) =>
  at >= notBefore.value && at <= notAfter.value

/** Roots in PEM text, one or more. */
export function readRoots(pem: string): pkijs.Certificate[] {
  return [...pem.matchAll(/-----BEGIN CERTIFICATE-----([\s\S]*?)-----END CERTIFICATE-----/g)].map(
    ([, body]) => pkijs.Certificate.fromBER(bufferOf(Buffer.from(body!, 'base64'))),
  )
}

async function leadsTo(
  roots: readonly pkijs.Certificate[],
  certificate: pkijs.Certificate,
  others: readonly pkijs.Certificate[],
  at: Date,
): Promise<boolean | null> {
  if (roots.length === 0) return null
  const engine = new pkijs.CertificateChainValidationEngine({
    trustedCerts: [...roots],
    certs: [...others.filter((c) => c !== certificate), certificate],
    checkDate: at,
  })
  return (await engine.verify()).result
}

/** A time stamp that holds: its own signature, and over the bytes it has to be over. */
export interface HeldStamp {
  readonly time: Date
  readonly trusted: boolean | null
}

/**
 * Looks at a time stamp: whether its own signature holds, whether it is over these bytes, and whose it is. null: it does not
 * hold, or is none.
 *
 * Source: RFC 3161, 2.4.2.
 */
export async function verifyStamp(
  token: Uint8Array,
  over: Uint8Array,
  roots: readonly pkijs.Certificate[],
): Promise<HeldStamp | null> {
  try {
    const { time } = readStamp(token)
    const signed = new pkijs.SignedData({ schema: pkijs.ContentInfo.fromBER(bufferOf(token)).content })
    // Octets in pieces, as some services send them, are put together: the library looks at whole ones only.
    const { encapContentInfo } = signed
    encapContentInfo.eContent = new asn1js.OctetString({ valueHex: encapContentInfo.eContent!.getValue() })
    if (!(await signed.verify({ signer: 0, data: bufferOf(over), checkChain: false }))) return null
    const certificates = (signed.certificates ?? []).filter((c) => c instanceof pkijs.Certificate)
    const sid = first(signed.signerInfos).sid as pkijs.IssuerAndSerialNumber
    const own = certificates.find((c) => c.serialNumber.isEqual(sid.serialNumber))
    return own ? { time, trusted: await leadsTo(roots, own, certificates, time) } : null
  } catch {
    return null
  }
}

/** A stamp as it was found: one that holds, one that does not, or none. */
type FoundStamp = HeldStamp | null | 'none'

async function verdictOf(
  intact: boolean,
  certificate: pkijs.Certificate,
  others: readonly pkijs.Certificate[],
  roots: readonly pkijs.Certificate[],
  stamp: FoundStamp,
  nowUtcUs: number,
): Promise<Verdict> {
  const held = stamp === 'none' ? null : stamp
  // A stamp of a service that nobody knows says nothing about when it was.
  const at = held && held.trusted !== false ? held.time : new Date(Math.floor(nowUtcUs / 1000))
  const stamped = held?.time ?? null
  return {
    state: intact && stamp !== null ? 'intact' : 'broken',
    signer: nameOf(certificate.subject),
    issuer: nameOf(certificate.issuer),
    trusted: await leadsTo(roots, certificate, others, at),
    inTime: covers(certificate, at),
    stamped,
    stampTrusted: held?.trusted ?? null,
  }
}

/** Looks at a detached CMS signature over bytes. */
export async function verifyCms(
  cms: Uint8Array,
  data: Uint8Array,
  roots: readonly pkijs.Certificate[],
  nowUtcUs: number,
): Promise<Verdict> {
  try {
    const content = pkijs.ContentInfo.fromBER(bufferOf(cms))
    const signed = new pkijs.SignedData({ schema: content.content })
    const certificates = (signed.certificates ?? []).filter((c) => c instanceof pkijs.Certificate)
    const sid = first(signed.signerInfos).sid as pkijs.IssuerAndSerialNumber
    const own = certificates.find((c) => c.serialNumber.isEqual(sid.serialNumber))
    if (!own) return { ...NONE, state: 'broken' }
    const intact = await signed
      .verify({ signer: 0, data: bufferOf(data), checkChain: false })
      .catch(() => false)
    const token = first(signed.signerInfos).unsignedAttrs?.attributes.find(
      (a) => a.type === OID.timeStampToken,
    )
    const stamp: FoundStamp = token
      ? await verifyStamp(
          new Uint8Array(token.values[0].toBER(false)),
          new Uint8Array(first(signed.signerInfos).signature.valueBlock.valueHexView),
          roots,
        )
      : 'none'
    return await verdictOf(intact, own, certificates, roots, stamp, nowUtcUs)
  } catch {
    return { ...NONE, state: 'broken' }
  }
}

/** Looks at the signature of a PDF; it has to be over every byte but its own. */
export async function verifyPdf(
  pdf: Uint8Array,
  roots: readonly pkijs.Certificate[],
  nowUtcUs: number,
): Promise<Verdict> {
  const part = signedPartOf(pdf)
  if (part) return verifyCms(part.cms, part.data, roots, nowUtcUs)
  return Buffer.from(pdf).includes('/ByteRange') ? { ...NONE, state: 'broken' } : NONE
}

const DS = 'http://www.w3.org/2000/09/xmldsig#'
/** Transforms that leave everything of a document under its signature. */
const WHOLE = new Set([
  `${DS}enveloped-signature`,
  'http://www.w3.org/2001/10/xml-exc-c14n#',
  'http://www.w3.org/TR/2001/REC-xml-c14n-20010315',
])

/** Looks at the enveloped signature of an XML text; it has to be over the whole of it. */
export async function verifyXml(
  xml: string,
  roots: readonly pkijs.Certificate[],
  nowUtcUs: number,
): Promise<Verdict> {
  const document = new DOMParser().parseFromString(xml, 'text/xml') as unknown as Document
  const signature = document.getElementsByTagNameNS(DS, 'Signature')[0]
  if (!signature) return NONE
  try {
    const certificate = pkijs.Certificate.fromBER(
      bufferOf(
        Buffer.from(first(signature.getElementsByTagNameNS(DS, 'X509Certificate')).textContent!, 'base64'),
      ),
    )
    const references = Array.from(signature.getElementsByTagNameNS(DS, 'Reference'))
    const overAll = references.some(
      (r) =>
        (r.getAttribute('URI') ?? '') === '' &&
        Array.from(r.getElementsByTagNameNS(DS, 'Transform')).every((t) =>
          WHOLE.has(t.getAttribute('Algorithm') ?? ''),
        ),
    )
    const signed = new SignedXml(document)
    signed.LoadXml(signature)
    const valid = await signed.Verify().catch(() => false)
    const token = document.getElementsByTagNameNS(
      'http://uri.etsi.org/01903/v1.3.2#',
      'EncapsulatedTimeStamp',
    )[0]
    const over = stampedBytes(document)
    const stamp: FoundStamp =
      token && over ? await verifyStamp(Buffer.from(token.textContent!, 'base64'), over, roots) : 'none'
    const atRoot = signature.parentNode === document.documentElement
    return await verdictOf(valid && overAll && atRoot, certificate, [], roots, stamp, nowUtcUs)
  } catch {
    return { ...NONE, state: 'broken' }
  }
}

/** The verdict in a sentence. */
export function verdictWords({
  state,
  signer,
  issuer,
  trusted,
  inTime,
  stamped,
  stampTrusted,
}: Verdict): string {
  if (state === 'none') return 'It bears no signature.'
  if (state === 'broken')
    return `Its signature${signer ? ` by ${signer}` : ''} does not hold: the file was changed after it was signed, or damaged.`
  const whose = `Signed by ${signer}, whose certificate ${issuer} issued`
  const trust =
    trusted === null
      ? 'no root is known here to check that against'
      : trusted
        ? 'which leads to a root known here'
        : 'which leads to no root known here'
  const service = stampTrusted === false ? ' by a service that leads to no root known here' : ''
  const time = stamped ? `, stamped ${stamped.toISOString().slice(0, 16)}Z${service}` : ''
  return `${whose}, ${trust}${time}. It is as it was signed.${inTime ? '' : ' The certificate was not valid at that time.'}`
}
