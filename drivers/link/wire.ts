import type { StopSignal } from '../../app/base/clock.ts'
import { CodedError } from '../../app/base/coded-error.ts'
import type { InstrumentErrorCode } from '../../app/instruments/faces.ts'

/**
 * Bytes to and from one instrument: one port, socket or session on a bus, for one attempt. Never reopened: a new attempt
 * makes a new one.
 */
export interface Wire {
  /**
   * Sends one string of bytes (each character is one byte), on a bus as one message with END. `awaitMs`: an answer is
   * expected, and may come as late as this; where answers have to be asked for, it is asked for so long. Absent: none is
   * expected.
   */
  write(bytes: string, awaitMs?: number): void
  /**
   * The bus's own trigger, in its turn; as the line where the instrument has none. Absent where the wire has none.
   */
  trigger?(line: string): void
  /**
   * Device clear: what the instrument had in hand and what it had to say are thrown away on both sides. Absent where the
   * wire has none (lines over TCP and serial): what may still come is waited for.
   */
  clear?(): Promise<Cleared>
  /** Ends it at once, whatever state it is in. Safe to call twice. */
  destroy(): void
}

/** A wire that carries bytes as they are: a socket, a serial line. */
export interface ByteWire extends Wire {
  write(bytes: string | Uint8Array): void
}

/** Acknowledged; refused as something the instrument does not know; not acknowledged in time, or not obeyed. */
export type Cleared = 'done' | 'unsupported' | 'failed'

/** What a wire tells its owner. A reader is attached from the first moment: an unplug is only noticed through a pending read. */
export interface WireListener {
  /** Bytes of answers. A message that ended with END ends with the terminator, whether the instrument sent it or not; `ended` with its last bytes. */
  data(chunk: Uint8Array, ended?: boolean): void
  /** Called once, when the other side or the system ended the wire; not after `destroy()`. */
  closed(fault: WireFault): void
  /** A remark for the traffic, as of an answer that was thrown away by its message id. */
  note(words: string): void
  /** The instrument asks for service, with its status byte where the bus carries it. */
  serviceRequest(status: number | undefined): void
}

/** Opens a new wire; gives up with a WireFault on failure or when the signal is aborted. */
export type Connect = (listener: WireListener, signal: StopSignal) => Promise<Wire>

export type ConnectBytes = (listener: WireListener, signal: StopSignal) => Promise<ByteWire>

/** Why a wire could not be opened or ended. */
export class WireFault extends CodedError<
  Extract<InstrumentErrorCode, 'lost' | 'permission' | 'no-such-port' | 'refused' | 'silent'>
> {}
