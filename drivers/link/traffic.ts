import type { Disposable, Instant } from '../../app/base/clock.ts'
import type { TrafficLine } from '../../app/instruments/faces.ts'

const PLAIN = /^[ -[\]-~]*$/

/** Control characters, backslashes and bytes above 126 as \xNN, so that a line of traffic shows every byte. */
export function escapeBytes(bytes: string): string {
  if (PLAIN.test(bytes)) return bytes
  let out = ''
  for (const character of bytes) {
    const code = character.charCodeAt(0)
    const plain = code >= 0x20 && code <= 0x7e && character !== '\\'
    out += plain ? character : `\\x${code.toString(16).toUpperCase().padStart(2, '0')}`
  }
  return out
}

/** What crosses one link, told to whoever listens. Costs one comparison when nobody does. */
export class Traffic {
  #listeners: ((line: TrafficLine) => void)[] = []

  listen(listener: (line: TrafficLine) => void): Disposable {
    this.#listeners = [...this.#listeners, listener]
    return {
      dispose: () => {
        this.#listeners = this.#listeners.filter((each) => each !== listener)
      },
    }
  }

  /** Whether anybody listens. */
  get heard(): boolean {
    return this.#listeners.length > 0
  }

  tell(direction: TrafficLine['direction'], bytes: string, at: Instant): void {
    if (this.#listeners.length === 0) return
    const line: TrafficLine = { at, direction, text: direction === 'note' ? bytes : escapeBytes(bytes) }
    for (const listener of this.#listeners) listener(line)
  }
}
