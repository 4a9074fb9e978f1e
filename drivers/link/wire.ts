import type { StopSignal } from '../../app/base/clock.ts'
import { CodedError } from '../../app/base/coded-error.ts'
import type { InstrumentErrorCode } from '../../app/instruments/faces.ts'

/** Bytes to and from one instrument: one port or socket, for one attempt. Never reopened: a new attempt makes a new one. */
export interface Wire {
  /** Sends one string of bytes (each character is one byte). */
  write(bytes: string): void
  /** Ends it at once, whatever state it is in. Safe to call twice. */
  destroy(): void
}

/** What a wire tells its owner. A reader is attached from the first moment: an unplug is only noticed through a pending read. */
export interface WireListener {
  data(chunk: Uint8Array): void
  /** Called once, when the other side or the system ended the wire; not after `destroy()`. */
  closed(fault: WireFault): void
}

/** Opens a new wire; gives up with a WireFault on failure or when the signal is aborted. */
export type Connect = (listener: WireListener, signal: StopSignal) => Promise<Wire>

/** Why a wire could not be opened or ended. */
export class WireFault extends CodedError<
  Extract<InstrumentErrorCode, 'lost' | 'permission' | 'no-such-port' | 'refused' | 'silent'>
> {}
