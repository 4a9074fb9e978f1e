import { PacketCutter, PacketError } from './packets.ts'
import { XdrReader, XdrWriter } from './xdr.ts'

/** Longest record taken: what claims more is no record of ours. */
const LONGEST = 2 ** 22
const LAST_FRAGMENT = 0x8000_0000

/** What became of a call that was accepted (RFC 5531, 9: accept_stat). */
export const ACCEPTED = {
  success: 0,
  'program-unavailable': 1,
  'program-mismatch': 2,
  'procedure-unavailable': 3,
  'garbage-arguments': 4,
  'system-error': 5,
} as const
export type Accepted = keyof typeof ACCEPTED

export interface RpcCall {
  readonly xid: number
  readonly rpcVersion: number
  readonly program: number
  readonly version: number
  readonly procedure: number
  readonly args: XdrReader
}

export interface RpcReply {
  readonly xid: number
  /** 'success', or why not; 'denied' where the call was rejected before it was looked at. */
  readonly status: Accepted | 'denied'
  readonly results: XdrReader
}

const CALL = 0
const REPLY = 1

/** A call of ONC RPC version 2 without credentials, behind its record mark (RFC 5531, 9 and 11). */
export function writeCall(
  call: Omit<RpcCall, 'args' | 'rpcVersion'>,
  args: (into: XdrWriter) => void,
): Uint8Array {
  const into = new XdrWriter(128)
  into.uint(0).uint(call.xid).uint(CALL).uint(2).uint(call.program).uint(call.version).uint(call.procedure)
  // Credential and verifier: flavour AUTH_NONE, no bytes (RFC 5531, 8.2 and 10.1).
  into.uint(0).uint(0).uint(0).uint(0)
  args(into)
  return marked(into)
}

/** Gives a call that was written its transaction id. */
export function numberCall(call: Uint8Array, xid: number): void {
  call[4] = xid >>> 24
  call[5] = xid >>> 16
  call[6] = xid >>> 8
  call[7] = xid
}

/** A reply to an accepted call, behind its record mark. */
export function writeReply(
  xid: number,
  status: Accepted,
  results: (into: XdrWriter) => void = () => {},
): Uint8Array {
  const into = new XdrWriter(128)
  into.uint(0).uint(xid).uint(REPLY).uint(0).uint(0).uint(0).uint(ACCEPTED[status])
  results(into)
  return marked(into)
}

/** A reply that refuses any version of RPC but 2 (RFC 5531, 9: MSG_DENIED, RPC_MISMATCH). */
export function writeDenied(xid: number): Uint8Array {
  const into = new XdrWriter(32)
  into.uint(0).uint(xid).uint(REPLY).uint(1).uint(0).uint(2).uint(2)
  return marked(into)
}

function marked(into: XdrWriter): Uint8Array {
  into.setUint(0, LAST_FRAGMENT + into.length - 4)
  return into.bytes()
}

/** Reads a call; undefined where the record is none. Throws XdrError where it breaks off. */
export function readCall(record: Uint8Array): RpcCall | undefined {
  const from = new XdrReader(record)
  const xid = from.uint()
  if (from.uint() !== CALL) return undefined
  const rpcVersion = from.uint()
  const [program, version, procedure] = [from.uint(), from.uint(), from.uint()]
  for (let auth = 0; auth < 2; auth++) {
    from.uint()
    from.opaque()
  }
  return { xid, rpcVersion, program, version, procedure, args: from }
}

/** By number, which is their order. */
const NAMES = Object.keys(ACCEPTED) as Accepted[]

/** Reads a reply; undefined where the record is none. Throws XdrError where it breaks off. */
export function readReply(record: Uint8Array): RpcReply | undefined {
  const from = new XdrReader(record)
  const xid = from.uint()
  if (from.uint() !== REPLY) return undefined
  if (from.uint() !== 0) return { xid, status: 'denied', results: from }
  from.uint()
  from.opaque()
  return { xid, status: NAMES[from.uint()] ?? 'system-error', results: from }
}

/** Cuts a stream into records: fragments behind marks, the last one flagged (RFC 5531, 11). */
export function recordCutter(take: (record: Uint8Array) => void): PacketCutter {
  let before: Uint8Array | undefined
  return new PacketCutter(
    {
      headBytes: 4,
      lengthOf: (view, at) => {
        const length = view.getUint32(at) & ~LAST_FRAGMENT
        if (length + (before?.length ?? 0) > LONGEST)
          throw new PacketError('a record longer than any of ours')
        return 4 + length
      },
    },
    (fragment) => {
      const last = (fragment[0]! & 0x80) !== 0
      const body = fragment.subarray(4)
      if (before === undefined && last) return take(body)
      const joined = new Uint8Array((before?.length ?? 0) + body.length)
      if (before !== undefined) joined.set(before)
      joined.set(body, before?.length ?? 0)
      before = last ? undefined : joined
      if (last) take(joined)
    },
  )
}

/** The same bytes without the record mark, as datagrams carry them. */
export const withoutMark = (record: Uint8Array): Uint8Array => record.subarray(4)
