import type { MessagePortMain } from 'electron'
import { Allowance } from './allowance.ts'

/** What the core's side of a window's port needs: what comes in, the end, and what goes out. */
export interface ServedPort {
  on(event: string, listener: (event?: { data: unknown }) => void): void
  postMessage(data: unknown): void
}

export interface PortLimits {
  /** Largest message, bytes; text counts two a character. */
  largest: number
  /** Messages a second in the long run, and how many may come at once. */
  perSecond: number
  atOnce: number
  /** Bytes a second in the long run, and how many may come at once. */
  bytesPerSecond: number
  bytesAtOnce: number
}

/** The window asks about 30 times a second, 200 times at once when 96 channels are looked up in the record. */
export const PORT_LIMITS: PortLimits = {
  largest: 32 * 1024 * 1024,
  perSecond: 400,
  atOnce: 2000,
  bytesPerSecond: 8 * 1024 * 1024,
  bytesAtOnce: 64 * 1024 * 1024,
}

/** Ports open at the same time; the window needs one, and one more while it changes over. */
const MOST_PORTS = 16

/**
 * The core's side of all windows' ports, behind limits that they share. A page that is broken or has been taken over
 * must not keep the core from measuring: the first message that is too large, too many or of no known kind ends its
 * port, and the window has to ask for another.
 */
export class PortGate {
  readonly #limits: PortLimits
  readonly #onRefused: (words: string) => void
  readonly #nowMs: () => number
  readonly #messages: Allowance
  readonly #bytes: Allowance
  readonly #open = new Set<() => void>()

  constructor(
    onRefused: (words: string) => void,
    limits: PortLimits = PORT_LIMITS,
    nowMs: () => number = () => performance.now(),
  ) {
    this.#onRefused = onRefused
    this.#limits = limits
    this.#nowMs = nowMs
    this.#messages = new Allowance(limits.perSecond, limits.atOnce, nowMs())
    this.#bytes = new Allowance(limits.bytesPerSecond, limits.bytesAtOnce, nowMs())
  }

  admit(port: MessagePortMain): ServedPort {
    const closing: (() => void)[] = []
    let ended = false
    const end = () => {
      if (ended) return
      ended = true
      this.#open.delete(end)
      port.close()
      for (const close of closing) close()
    }
    this.#open.add(end)
    port.on('close', end)
    // The oldest goes: whoever still uses it asks for another.
    if (this.#open.size > MOST_PORTS) [...this.#open][0]!()

    const hear = (data: unknown, listener: (event: { data: unknown }) => void) => {
      // What was under way when the port was ended is let fall.
      if (ended) return
      const words = this.#complaint(data)
      if (words === undefined) {
        listener({ data })
        return
      }
      this.#onRefused(`The link to a window was ended: ${words}.`)
      end()
    }
    return {
      on(event, listener) {
        if (event === 'close') closing.push(listener)
        else if (event === 'message') port.on('message', ({ data }) => hear(data, listener))
      },
      postMessage: (data) => {
        if (!ended) port.postMessage(data)
      },
    }
  }

  #complaint(data: unknown): string | undefined {
    const { largest, perSecond, bytesPerSecond } = this.#limits
    const size = sizeOf(data)
    const now = this.#nowMs()
    if (size === undefined) return 'it sent something that is neither text nor bytes'
    if (size > largest) return `it sent ${size} bytes in one message; ${largest} are allowed`
    if (!this.#messages.take(1, now)) return `it sent more than ${perSecond} messages a second`
    if (!this.#bytes.take(size, now)) return `it sent more than ${bytesPerSecond} bytes a second`
    return undefined
  }
}

function sizeOf(data: unknown): number | undefined {
  if (typeof data === 'string') return data.length * 2
  if (data instanceof ArrayBuffer || ArrayBuffer.isView(data)) return data.byteLength
  return undefined
}
