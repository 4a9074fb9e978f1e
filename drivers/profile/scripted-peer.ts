import type { Clock } from '../../app/base/clock.ts'
import { said } from '../../app/messages/said.ts'
import { escapeBytes } from '../link/traffic.ts'
import { type Connect, WireFault, type WireListener } from '../link/wire.ts'

/**
 * The other end of a link that follows a list of lines: "> what must be sent", "< what is answered", "wait N" lets N ms
 * pass. It keeps account of whatever was sent that is not in the list, and of what was left over.
 */
export class ScriptedPeer {
  readonly problems: string[] = []
  readonly #clock: Clock
  #lines: string[] = []
  #heard = ''
  #listener: WireListener | undefined
  #waiting = false

  constructor(clock: Clock) {
    this.#clock = clock
  }

  readonly connect: Connect = async (listener) => {
    if (this.#listener !== undefined) throw new WireFault('lost', said('script-has-one-connection', {}))
    this.#listener = listener
    this.#answer()
    return { write: (bytes) => this.#hear(bytes), destroy: () => {} }
  }

  /** Adds lines to the script. */
  expect(lines: readonly string[]): void {
    this.#lines.push(...lines)
    this.#answer()
  }

  /** Whether everything in the script was said and heard; what was left over is noted as a problem. */
  finish(where: string): void {
    if (this.#heard !== '')
      this.problems.push(`${where}: sent "${escapeBytes(this.#heard)}", which is not in the transcript`)
    for (const line of this.#lines) this.problems.push(`${where}: left over: ${escapeBytes(line)}`)
    this.#lines = []
    this.#heard = ''
  }

  #hear(bytes: string): void {
    this.#heard += bytes
    for (;;) {
      const line = this.#lines[0]
      if (line === undefined || !line.startsWith('> ') || this.#waiting) return
      const wanted = line.slice(2)
      if (!this.#heard.startsWith(wanted)) {
        if (this.#heard.length >= wanted.length || !wanted.startsWith(this.#heard)) {
          this.problems.push(`sent "${escapeBytes(this.#heard)}" instead of "${escapeBytes(wanted)}"`)
          this.#heard = ''
          this.#lines.shift()
          this.#answer()
        }
        return
      }
      this.#heard = this.#heard.slice(wanted.length)
      this.#lines.shift()
      this.#answer()
    }
  }

  /** Sends what the script says up to the next line that has to be heard. */
  #answer(): void {
    while (!this.#waiting && this.#listener !== undefined) {
      const line = this.#lines[0]
      if (line === undefined || line.startsWith('> ')) return
      this.#lines.shift()
      if (line.startsWith('wait ')) {
        this.#waiting = true
        this.#clock.after(Number(line.slice(5)), () => {
          this.#waiting = false
          this.#answer()
          this.#hear('')
        })
      } else {
        const listener = this.#listener
        const bytes = Buffer.from(line.slice(2), 'latin1')
        queueMicrotask(() => listener.data(bytes))
      }
    }
  }
}
