/**
 * The C functions of a VISA library (VPP-4.3.2): statuses, attributes and modes, numbers as in the constants of pyvisa, which has
 * them from the specification.
 */
export const VISA_STATUS = {
  success: 0,
  termChar: 0x3fff_0005,
  maxCount: 0x3fff_0006,
  timeout: 0xbfff_0015,
  locked: 0xbfff_000f,
  notFound: 0xbfff_0011,
  invalidName: 0xbfff_0012,
  notSupported: 0xbfff_0067,
  busy: 0xbfff_0072,
  connectionLost: 0xbfff_00a6,
} as const

export const VISA_ATTRIBUTE = {
  sendEnd: 0x3fff_0016,
  timeout: 0x3fff_001a,
  termCharEnabled: 0x3fff_0038,
} as const
export const VISA_LOCK = { none: 0, exclusive: 1 } as const
/** Modes of viGpibControlREN. */
export const VISA_REMOTE = { assertAddress: 3, addressToLocal: 6 } as const
/** Protocol of viAssertTrigger: the interface's own. */
export const VISA_TRIGGER = { usual: 0 } as const
/** Length of a description and of a resource's name. */
export const VISA_TEXT_BYTES = 256

/** Statuses of success and warning are positive as 32-bit numbers. */
export const isVisaError = (status: number): boolean => (status & 0x8000_0000) !== 0

/** What is asked of the process that holds the library. */
export type VisaAsk =
  | {
      readonly ask: 'open'
      readonly library: string | undefined
      readonly resource: string
      readonly shared: boolean
      readonly openMs: number
    }
  | { readonly ask: 'write'; readonly bytes: Uint8Array; readonly waitMs: number }
  | { readonly ask: 'read'; readonly most: number; readonly waitMs: number }
  | { readonly ask: 'clear' }
  | { readonly ask: 'trigger' }
  | { readonly ask: 'status' }
  | { readonly ask: 'close' }
  | { readonly ask: 'find'; readonly library: string | undefined }

/** What came of it: the library's status with its words, and what it gave. */
export interface VisaTold {
  readonly status: number
  readonly words: string
  /** Which function of the library gave the status. */
  readonly call: string
  readonly data?: Uint8Array
  /** More of the message is to come. */
  readonly isPart?: boolean
  readonly byte?: number
  readonly names?: readonly string[]
  /** The library could not be loaded at all. */
  readonly isMissing?: boolean
}
