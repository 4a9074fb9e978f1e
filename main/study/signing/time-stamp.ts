import { randomBytes } from 'node:crypto'
import * as asn1js from 'asn1js'
import * as pkijs from 'pkijs'
import { said } from '../../../app/messages/said.ts'
import { signCms } from './cms.ts'
import { bufferOf, OID, sha256 } from './engine.ts'
import type { SigningKey } from './key.ts'
import { SigningError } from './signing-error.ts'

const SHA256_OID = '2.16.840.1.101.3.4.2.1'
const QUERY = 'application/timestamp-query'
const ASK_MS = 15_000
/** Policy under which the trial service stamps: an arc for examples (RFC 7229 keeps 1.3.6.1.5.5.7.13 for tests). */
const TRIAL_POLICY = '1.3.6.1.5.5.7.13.1'
/** A stamping service's clock may be this far ahead of ours. */
const MOST_AHEAD_MS = 5 * 60_000

const hex = (buffer: ArrayBuffer | Uint8Array) => Buffer.from(buffer as Uint8Array).toString('hex')

async function imprintOf(data: Uint8Array): Promise<pkijs.MessageImprint> {
  return new pkijs.MessageImprint({
    hashAlgorithm: new pkijs.AlgorithmIdentifier({
      algorithmId: SHA256_OID,
      algorithmParams: new asn1js.Null(),
    }),
    hashedMessage: new asn1js.OctetString({ valueHex: await sha256(data) }),
  })
}

/** What a token says: when, and over which hash. */
export interface StampInfo {
  readonly time: Date
  readonly hash: string
}

/** Reads a token of RFC 3161. Throws SigningError 'stamp-refused' where it is none. */
export function readStamp(token: Uint8Array): StampInfo {
  try {
    const content = pkijs.ContentInfo.fromBER(bufferOf(token))
    const signed = new pkijs.SignedData({ schema: content.content })
    const info = pkijs.TSTInfo.fromBER(bufferOf(new Uint8Array(signed.encapContentInfo.eContent!.getValue())))
    return {
      time: info.genTime,
      hash: hex(info.messageImprint.hashedMessage.valueBlock.valueHexView),
    }
  } catch (cause) {
    throw new SigningError('stamp-refused', said('stamp-unreadable', {}), {}, cause)
  }
}

/** Throws SigningError 'stamp-refused' | 'stamp-from-future' where a token is not over these bytes, or says a time yet to come. */
export async function checkStamp(token: Uint8Array, data: Uint8Array, nowUtcUs: number): Promise<StampInfo> {
  const info = readStamp(token)
  if (info.hash !== hex(await sha256(data))) {
    throw new SigningError('stamp-refused', said('stamp-over-something-else', {}))
  }
  if (info.time.getTime() > nowUtcUs / 1000 + MOST_AHEAD_MS) {
    throw new SigningError('stamp-from-future', said('stamp-from-future', { time: info.time.toISOString() }))
  }
  return info
}

/**
 * Asks a stamping service over HTTP for a token over bytes.
 *
 * Source: RFC 3161, 2.4 and 3.4.
 * Throws SigningError 'stamp-unreachable' where nobody answers, so that it may be asked for later; 'stamp-refused' |
 * 'stamp-from-future' where what came cannot be used.
 */
export async function askStamp(url: string, data: Uint8Array, nowUtcUs: number): Promise<Uint8Array> {
  const nonce = new asn1js.Integer({ valueHex: new Uint8Array([1, ...randomBytes(8)]).buffer })
  const query = new pkijs.TimeStampReq({
    version: 1,
    messageImprint: await imprintOf(data),
    nonce,
    certReq: true,
  })
  let body: ArrayBuffer
  try {
    const answer = await fetch(url, {
      method: 'POST',
      headers: { 'content-type': QUERY },
      body: query.toSchema().toBER(false),
      signal: AbortSignal.timeout(ASK_MS),
      redirect: 'error',
    })
    if (!answer.ok) throw new Error(`status ${answer.status}`)
    body = await answer.arrayBuffer()
  } catch (cause) {
    throw new SigningError('stamp-unreachable', said('stamping-service-silent', { url }), { url }, cause)
  }
  let response: pkijs.TimeStampResp
  try {
    response = pkijs.TimeStampResp.fromBER(body)
  } catch (cause) {
    throw new SigningError('stamp-refused', said('no-stamping-service', { url }), { url }, cause)
  }
  if (response.status.status > 1 || !response.timeStampToken) {
    throw new SigningError('stamp-refused', said('stamp-refused', { url }), { url })
  }
  const token = new Uint8Array(response.timeStampToken.toSchema().toBER(false))
  await checkStamp(token, data, nowUtcUs)
  return token
}

/** A token made by a trial authority's own stamper, over bytes, at a time. */
export async function trialStamp(stamper: SigningKey, data: Uint8Array, utcUs: number): Promise<Uint8Array> {
  const info = new pkijs.TSTInfo({
    version: 1,
    policy: TRIAL_POLICY,
    messageImprint: await imprintOf(data),
    serialNumber: new asn1js.Integer({ valueHex: new Uint8Array([1, ...randomBytes(7)]).buffer }),
    genTime: new Date(Math.floor(utcUs / 1e6) * 1000),
  })
  const der = new Uint8Array(info.toSchema().toBER(false))
  return signCms(der, stamper, { utcUs, enclosed: { type: OID.tstInfo } })
}
