import type { Instant } from '../../app/base/clock.ts'
import { duration } from '../../app/base/times.ts'
import { said } from '../../app/messages/said.ts'
import type { EventWords } from './recorder.ts'

interface OpenGap {
  readonly from: Instant
  readonly cause: string
}

/** Gaps in the record, by channel: opened by the first reading that cannot be used, closed by the next that can. */
export class Gaps {
  readonly #open = new Map<string, OpenGap>()

  get size(): number {
    return this.#open.size
  }

  isOpen(channel: string): boolean {
    return this.#open.has(channel)
  }

  /** `from` is the last moment the channel was known to be good, where there is one. */
  open(channel: string, from: Instant, cause: string): boolean {
    if (this.#open.has(channel)) return false
    this.#open.set(channel, { from, cause })
    return true
  }

  /** The line for the record, where a gap ends with this reading. */
  close(channel: string, name: string, until: Instant): EventWords | undefined {
    const gap = this.#open.get(channel)
    if (!gap) return undefined
    this.#open.delete(channel)
    const seconds = (until.monoUs - gap.from.monoUs) / 1e6
    return {
      kind: 'gap',
      subject: channel,
      said: said('gap', { channel: name, time: duration(seconds), cause: gap.cause }),
      data: { fromUtcUs: gap.from.utcUs, toUtcUs: until.utcUs, seconds, cause: gap.cause },
    }
  }

  /** What is still open, for the state and for alarms. */
  list(): readonly { channel: string; from: Instant; cause: string }[] {
    return [...this.#open].map(([channel, gap]) => ({ channel, ...gap }))
  }
}
