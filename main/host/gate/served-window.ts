import {
  decodeRequestMessage,
  encodeResponseMessage,
  MessageType,
  experimental_ServerPeerWithoutCodec as Peer,
} from '@orpc/standard-server-peer'
import type { Gate } from './gate.ts'
import { type Group, LONGEST_CALL_ID, MOST_WAITING } from './limits.ts'

/** Why a wire is ended, as the close codes of RFC 6455, 7.4.1 have it. */
const ENDINGS = { unsuitable: 1003, malformed: 1007, refused: 1008, tooLarge: 1009 } as const

/** One window's wire, whatever carries it. */
export interface Wire {
  /** Resolves when the carrier has taken it. */
  send(data: string | Uint8Array): Promise<void>
  /** Stops and goes on reading; absent where the carrier cannot wait. */
  readonly flow?: { pause(): void; resume(): void } | undefined
  end(code: number, words: string): void
}

/** One call while it is answered: what it holds of the station is given back when the last of its answer has left. */
export interface Call {
  readonly window: ServedWindow
  /** Keeps something until the call is over. */
  hold(release: () => void): void
}

export type Respond = (request: Parameters<Handle>[0], call: Call) => ReturnType<Handle>
type Handle = NonNullable<Parameters<Peer['message']>[1]>

/**
 * The station's end of one window's wire: calls in, answers out. What no window of ours would send ends the wire with its
 * code and a line in the log; what comes too fast is left unread for a while.
 */
export class ServedWindow {
  readonly group: Group
  streams = 0
  /** Id of the person who is signed in at this window. */
  person: string | undefined
  /** Where it comes from, beyond this computer. */
  address: string | undefined
  readonly #gate: Gate
  readonly #wire: Wire
  readonly #respond: Respond
  readonly #peer: Peer
  readonly #waiting: (string | Uint8Array)[] = []
  #running = 0
  #ended = false
  #slowed: NodeJS.Timeout | undefined
  #paused = false

  constructor(gate: Gate, group: Group, wire: Wire, respond: Respond) {
    this.#gate = gate
    this.group = group
    this.#wire = wire
    this.#respond = respond
    this.#peer = new Peer(async ([id, type, payload]) => {
      const message = await encodeResponseMessage(id, type, payload)
      if (!this.#ended) await wire.send(message as string | Uint8Array)
    })
    gate.enter(group)
  }

  hear(data: unknown): void {
    // What was under way when the wire was ended is let fall.
    if (this.#ended) return
    if (!this.#mayHear(data)) return
    this.#waiting.push(bytesOf(data))
    this.#goOn()
  }

  #mayHear(data: unknown): boolean {
    const limits = this.#gate.limits(this.group)
    const size = sizeOf(data)
    if (size === undefined)
      return this.#refuse('unsuitable', 'it sent something that is neither text nor bytes')
    if (size > limits.largest)
      return this.#refuse('tooLarge', `it sent ${size} bytes in one message; ${limits.largest} are allowed`)
    const overMs = this.#gate.draw(this.group, size)
    if (overMs > 0 && !this.#wire.flow)
      return this.#refuse(
        'refused',
        `it sent more than ${limits.perSecond} messages or ${limits.bytesPerSecond} bytes a second`,
      )
    const waitMs = Math.max(overMs, this.#gate.brake(this.group))
    if (waitMs > 0) this.#slowDown(waitMs)
    if (this.#waiting.length >= MOST_WAITING)
      return this.#refuse('refused', `it has more than ${MOST_WAITING} calls that wait for their answer`)
    return true
  }

  /** Something that asks nothing has come in. */
  heed(bytes: number): void {
    const waitMs = this.#ended ? 0 : this.#gate.draw(this.group, bytes)
    if (waitMs > 0) this.#slowDown(waitMs)
  }

  /** The wire is gone. */
  closed(): void {
    if (this.#ended) return
    this.#ended = true
    this.#gate.leave(this.group)
    clearTimeout(this.#slowed)
    this.#waiting.length = 0
    this.#peer.close()
  }

  #goOn(): void {
    const { running } = this.#gate.limits(this.group)
    while (this.#slowed === undefined && this.#running < running && this.#waiting.length > 0)
      void this.#answer(this.#waiting.shift()!)
    this.#breathe()
  }

  async #answer(data: string | Uint8Array): Promise<void> {
    this.#running += 1
    const held: (() => void)[] = []
    const call: Call = { window: this, hold: (release) => held.push(release) }
    try {
      const message = await readCall(data)
      if (message === undefined) this.#refuse('malformed', 'it sent something that is no call')
      else if (message[1] === MessageType.EVENT_ITERATOR)
        this.#refuse('refused', 'it sent a stream, which no call takes')
      else if (!this.#ended) await this.#peer.message(message, (request) => this.#respond(request, call))
    } catch {
      // The answer could not be sent, or its caller has gone: whoever still listens asks again.
    } finally {
      for (const release of held) release()
      this.#running -= 1
      if (!this.#ended) this.#goOn()
    }
  }

  #slowDown(ms: number): void {
    clearTimeout(this.#slowed)
    this.#slowed = setTimeout(() => {
      this.#slowed = undefined
      this.#goOn()
    }, ms)
    this.#breathe()
  }

  /** Reads while neither its rate nor its calls hold it back. */
  #breathe(): void {
    const hold = !this.#ended && (this.#slowed !== undefined || this.#waiting.length > 0)
    if (hold === this.#paused) return
    this.#paused = hold
    if (hold) this.#wire.flow?.pause()
    else this.#wire.flow?.resume()
  }

  #refuse(ending: keyof typeof ENDINGS, words: string): false {
    if (this.#ended) return false
    this.#gate.refusals.warn(`The link to a window was ended: ${words}.`)
    this.closed()
    this.#wire.end(ENDINGS[ending], words)
    return false
  }
}

type Message = Parameters<Peer['message']>[0]

/** undefined where it is none. */
async function readCall(data: string | Uint8Array): Promise<Message | undefined> {
  try {
    const message = await decodeRequestMessage(data as Parameters<typeof decodeRequestMessage>[0])
    const id: unknown = message[0]
    return typeof id === 'string' && id.length > 0 && id.length <= LONGEST_CALL_ID ? message : undefined
  } catch {
    return undefined
  }
}

function sizeOf(data: unknown): number | undefined {
  if (typeof data === 'string') return data.length * 2
  if (data instanceof ArrayBuffer || ArrayBuffer.isView(data)) return data.byteLength
  return undefined
}

/** As text or bytes; what sizeOf knows. */
function bytesOf(data: unknown): string | Uint8Array {
  if (typeof data === 'string' || data instanceof Uint8Array) return data
  if (data instanceof ArrayBuffer) return new Uint8Array(data)
  const { buffer, byteOffset, byteLength } = data as ArrayBufferView
  return new Uint8Array(buffer, byteOffset, byteLength)
}
