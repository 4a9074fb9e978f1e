import { bytesOf } from '../../app/buses/packets.ts'
import type { WireListener } from './wire.ts'

const NOTHING = new Uint8Array(0)

/**
 * Turns messages that end with END into bytes that end with the terminator which the profile expects: an instrument may
 * send it before END, or leave it to END alone (IEEE 488.2, 7.5: NL, END, or NL with END; number from memory).
 */
export class MessageEnd {
  readonly #listener: Pick<WireListener, 'data'>
  readonly #terminator: Uint8Array
  /** How many bytes of the terminator the message ends with so far. */
  #met = 0

  constructor(terminator: string, listener: Pick<WireListener, 'data'>) {
    this.#listener = listener
    this.#terminator = bytesOf(terminator)
  }

  /** Part of a message. */
  data(bytes: Uint8Array): void {
    if (bytes.length === 0) return
    this.#met = this.#endsWith(bytes)
    this.#listener.data(bytes)
  }

  /** The message has ended. */
  end(): void {
    this.#listener.data(this.#met < this.#terminator.length ? this.#terminator : NOTHING, true)
    this.#met = 0
  }

  #endsWith(bytes: Uint8Array): number {
    const wanted = this.#terminator
    const most = Math.min(wanted.length, bytes.length)
    for (let i = 1; i <= most; i++) {
      // A terminator cut in two between packets counts as well.
      if (bytes[bytes.length - i] !== wanted[wanted.length - i]) return 0
    }
    if (most === wanted.length) return wanted.length
    return this.#met + most === wanted.length ? wanted.length : 0
  }
}
