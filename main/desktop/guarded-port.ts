import type { MessagePortMain } from 'electron'

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

/** Fills at a steady rate up to a brim; taking more than is in it fails. */
class Allowance {
  #left: number
  #at: number
  readonly #perSecond: number
  readonly #brim: number

  constructor(perSecond: number, brim: number, nowMs: number) {
    this.#perSecond = perSecond
    this.#brim = brim
    this.#left = brim
    this.#at = nowMs
  }

  take(amount: number, nowMs: number): boolean {
    this.#left = Math.min(this.#brim, this.#left + ((nowMs - this.#at) / 1000) * this.#perSecond)
    this.#at = nowMs
    if (amount > this.#left) return false
    this.#left -= amount
    return true
  }
}

/**
 * A window's port behind limits. A page that is broken or has been taken over must not keep the core from measuring: the
 * first message that is too large, too many or of no known kind ends the port, and the window has to ask for another.
 */
export function guardPort(
  port: MessagePortMain,
  onRefused: (words: string) => void,
  limits: PortLimits = PORT_LIMITS,
  nowMs: () => number = () => performance.now(),
): ServedPort {
  const messages = new Allowance(limits.perSecond, limits.atOnce, nowMs())
  const bytes = new Allowance(limits.bytesPerSecond, limits.bytesAtOnce, nowMs())
  const closing: (() => void)[] = []
  let refused = false

  const complaint = (data: unknown): string | undefined => {
    const size = sizeOf(data)
    const now = nowMs()
    if (size === undefined) return 'it sent something that is neither text nor bytes'
    if (size > limits.largest) return `it sent ${size} bytes in one message; ${limits.largest} are allowed`
    if (!messages.take(1, now)) return `it sent more than ${limits.perSecond} messages a second`
    if (!bytes.take(size, now)) return `it sent more than ${limits.bytesPerSecond} bytes a second`
    return undefined
  }

  function admit(data: unknown, listener: (event: { data: unknown }) => void): void {
    // What was under way when the port was ended is let fall.
    if (refused) return
    const words = complaint(data)
    if (words === undefined) {
      listener({ data })
      return
    }
    refused = true
    onRefused(`The link to a window was ended: ${words}.`)
    port.close()
    for (const close of closing) close()
  }

  return {
    on(event, listener) {
      if (event === 'close') {
        closing.push(listener)
        port.on('close', listener)
      } else if (event === 'message') port.on('message', ({ data }) => admit(data, listener))
    },
    postMessage: (data) => {
      if (!refused) port.postMessage(data)
    },
  }
}

function sizeOf(data: unknown): number | undefined {
  if (typeof data === 'string') return data.length * 2
  if (data instanceof ArrayBuffer || ArrayBuffer.isView(data)) return data.byteLength
  return undefined
}
