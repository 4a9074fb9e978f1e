/**
 * VXI-11, TCP/IP Instrument Protocol, revision 1.0 (17 July 1995; its text is in the public domain): programs,
 * procedures, errors and flags. The numbers are those of its interface in RPC language (appendix C); section numbers
 * elsewhere are from memory.
 */
export const CORE = { program: 0x0607af, version: 1 } as const
/** The abort channel. */
export const ASYNC = { program: 0x0607b0, version: 1 } as const
/** The interrupt channel, on which the instrument calls. */
export const INTR = { program: 0x0607b1, version: 1 } as const

export const PROCEDURE = {
  deviceAbort: 1,
  createLink: 10,
  deviceWrite: 11,
  deviceRead: 12,
  deviceReadStb: 13,
  deviceTrigger: 14,
  deviceClear: 15,
  deviceRemote: 16,
  deviceLocal: 17,
  deviceLock: 18,
  deviceUnlock: 19,
  deviceEnableSrq: 20,
  deviceDocmd: 22,
  destroyLink: 23,
  createIntrChan: 25,
  destroyIntrChan: 26,
  deviceIntrSrq: 30,
} as const

export const ERROR = {
  none: 0,
  syntax: 1,
  notAccessible: 3,
  invalidLink: 4,
  parameter: 5,
  channelNotEstablished: 6,
  notSupported: 8,
  outOfResources: 9,
  lockedByAnother: 11,
  noLockHeld: 12,
  ioTimeout: 15,
  io: 17,
  invalidAddress: 21,
  abort: 23,
  channelAlreadyEstablished: 29,
} as const

/** Flags of a call. */
export const FLAG = { waitLock: 1, end: 8, termchar: 128 } as const
/** Why a read ended: as many bytes as asked for, the termination character, END. */
export const REASON = { count: 1, character: 2, end: 4 } as const
/** Message available, in the status byte (IEEE 488.2, 11.2.1; number from memory). */
export const MAV = 0x10

export const ERROR_WORDS: Readonly<Record<number, string>> = {
  [ERROR.syntax]: 'syntax error',
  [ERROR.notAccessible]: 'device not accessible',
  [ERROR.invalidLink]: 'invalid link identifier',
  [ERROR.parameter]: 'parameter error',
  [ERROR.channelNotEstablished]: 'channel not established',
  [ERROR.notSupported]: 'operation not supported',
  [ERROR.outOfResources]: 'out of resources',
  [ERROR.lockedByAnother]: 'device locked by another link',
  [ERROR.noLockHeld]: 'no lock held by this link',
  [ERROR.ioTimeout]: 'I/O timeout',
  [ERROR.io]: 'I/O error',
  [ERROR.invalidAddress]: 'invalid address',
  [ERROR.abort]: 'abort',
  [ERROR.channelAlreadyEstablished]: 'channel already established',
}
