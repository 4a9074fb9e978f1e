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
  /** The last bytes of the message so far, as many as the terminator has: it may be cut between packets. */
  #tail: Uint8Array = NOTHING

  constructor(terminator: string, listener: Pick<WireListener, 'data'>) {
    this.#listener = listener
    this.#terminator = bytesOf(terminator)
  }

  /** Part of a message. */
  data(bytes: Uint8Array): void {
    if (bytes.length === 0) return
    const { length } = this.#terminator
    const all = [...this.#tail, ...bytes.subarray(Math.max(0, bytes.length - length))]
    this.#tail = Uint8Array.from(all.slice(Math.max(0, all.length - length)))
    this.#listener.data(bytes)
  }

  /** The message has ended. */
  end(): void {
    const isThere = this.#terminator.every((byte, i) => byte === this.#tail[i])
    this.#listener.data(isThere ? NOTHING : this.#terminator, true)
    this.#tail = NOTHING
  }
}
