import { DOMImplementation, DOMParser, XMLSerializer } from '@xmldom/xmldom'
import { Application, SignedXml, setNodeDependencies } from 'xadesjs'
import { first } from '../../../app/base/lists.ts'
import type { Stamp } from './cms.ts'
import { crypto, HASH } from './engine.ts'
import type { SigningKey } from './key.ts'
import { derOf } from './trial-authority.ts'

setNodeDependencies({ DOMParser, XMLSerializer, DOMImplementation })
Application.setEngine('stillpoint', crypto)

const DS = 'http://www.w3.org/2000/09/xmldsig#'
const XADES = 'http://uri.etsi.org/01903/v1.3.2#'

const base64 = (data: Uint8Array) => Buffer.from(data).toString('base64')

const read = (xml: string): Document =>
  new DOMParser().parseFromString(xml, 'text/xml') as unknown as Document

const write = (document: Document): string => new XMLSerializer().serializeToString(document as never)

/**
 * Signs an XML text in the place its schema has for it, at the end of its root: an enveloped XML signature over the whole with
 * the XAdES properties of the baseline (signing certificate, time, and a time stamp over the signature where one is to be had).
 *
 * Source: W3C XML Signature 1.1; ETSI EN 319 132-1, 5.2 and 6 (numbers of the clauses from memory).
 */
export async function signXml(
  xml: string,
  { key, certificate }: SigningKey,
  utcUs: number,
  stamp?: Stamp,
): Promise<string> {
  const document = read(xml)
  const own = base64(derOf(certificate))
  const signed = new SignedXml()
  const algorithm =
    key.algorithm.name === 'ECDSA'
      ? { name: 'ECDSA', hash: { name: HASH }, namedCurve: (key.algorithm as EcKeyAlgorithm).namedCurve }
      : { name: 'RSASSA-PKCS1-v1_5', hash: { name: HASH } }
  await signed.Sign(algorithm as never, key, document, {
    x509: [own],
    signingCertificate: own,
    signingTime: { value: new Date(Math.floor(utcUs / 1e6) * 1000) },
    references: [{ uri: '', hash: HASH, transforms: ['enveloped', 'exc-c14n'] }],
  } as never)
  document.documentElement.appendChild(document.importNode(signed.GetXml()!, true))
  if (stamp) await addStamp(document, stamp)
  return `${write(document)}\n`
}

const EXCLUSIVE = 'http://www.w3.org/2001/10/xml-exc-c14n#'

/** What a time stamp over a document's signature is over; null where its canonical form is another than ours. */
export function stampedBytes(document: Document): Uint8Array | null {
  const stamp = document.getElementsByTagNameNS(XADES, 'SignatureTimeStamp')[0]
  const method = stamp?.getElementsByTagNameNS(DS, 'CanonicalizationMethod')[0]
  if (stamp && method?.getAttribute('Algorithm') !== EXCLUSIVE) return null
  const value = first(document.getElementsByTagNameNS(DS, 'SignatureValue'))
  // Exclusive canonical form of this element: its own name space and its text.
  const attributes = value.getAttribute('Id') ? ` Id="${value.getAttribute('Id')}"` : ''
  const prefix = value.prefix ? `${value.prefix}:` : ''
  const space = value.prefix ? `xmlns:${value.prefix}` : 'xmlns'
  const canonical = `<${prefix}SignatureValue ${space}="${DS}"${attributes}>${value.textContent}</${prefix}SignatureValue>`
  return new TextEncoder().encode(canonical)
}

/** A time stamp over the signature's value, among the properties that are not signed. */
async function addStamp(document: Document, stamp: Stamp): Promise<void> {
  const token = await stamp(stampedBytes(document)!)
  if (!token) return
  const qualifying = first(document.getElementsByTagNameNS(XADES, 'QualifyingProperties'))
  const xadesPrefix = qualifying.prefix ? `${qualifying.prefix}:` : ''
  const element = (name: string, parent: Element): Element => {
    const made = document.createElementNS(XADES, `${xadesPrefix}${name}`)
    parent.appendChild(made)
    return made
  }
  const unsigned = element('UnsignedProperties', qualifying)
  const ofSignature = element('UnsignedSignatureProperties', unsigned)
  const one = element('SignatureTimeStamp', ofSignature)
  const method = document.createElementNS(DS, 'ds:CanonicalizationMethod')
  method.setAttribute('Algorithm', EXCLUSIVE)
  one.appendChild(method)
  element('EncapsulatedTimeStamp', one).textContent = base64(token)
}

/** The text as it was before it was signed: what printing the certificate again gives. */
export function withoutXmlSignature(xml: string): string {
  return xml.replace(/<ds:Signature [\s\S]*<\/ds:Signature>(?=<\/dcc:digitalCalibrationCertificate>)/, '')
}
