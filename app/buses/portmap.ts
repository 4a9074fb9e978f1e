import type { XdrReader, XdrWriter } from './xdr.ts'

/** The port mapper, version 2 (RFC 1833, 3): it tells on which port a program listens. */
export const PORTMAP = {
  program: 100_000,
  version: 2,
  port: 111,
  procedures: { null: 0, getport: 3, dump: 4 },
  /** Protocol numbers of a mapping. */
  tcp: 6,
  udp: 17,
} as const

export interface Mapping {
  readonly program: number
  readonly version: number
  readonly protocol: number
  readonly port: number
}

export function writeMapping(into: XdrWriter, { program, version, protocol, port }: Mapping): void {
  into.uint(program).uint(version).uint(protocol).uint(port)
}

export function readMapping(from: XdrReader): Mapping {
  return { program: from.uint(), version: from.uint(), protocol: from.uint(), port: from.uint() }
}
