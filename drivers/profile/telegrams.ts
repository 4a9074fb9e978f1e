import type { Clock, Disposable, Instant, StopSignal } from '../../app/base/clock.ts'
import type { Mark } from '../../app/records/mark.ts'
import { compilePattern, type Matcher } from '../language/pattern.ts'
import { undress } from './dress.ts'
import type { Profile } from './schema.ts'

/** A line that came by itself. */
export interface Telegram {
  readonly raw: string
  /** What is in its shell; undefined where it does not look as it should. */
  readonly text: string | undefined
  readonly words: string
  /** Its own moment where it tells one, else when it was heard. */
  readonly at: Instant
  readonly marks: readonly Mark[]
}

/** Hears what an instrument tells by itself: keeps the newest telegram, wakes who waits for the next, follows their numbers. */
export class Telegrams {
  readonly #profile: Profile
  readonly #clock: Clock
  readonly #pattern: Matcher
  #latest: Telegram | undefined
  #count: number | undefined
  /** The least that a telegram was heard after its own time, on both counts, us. */
  #leastLagUs: number | undefined
  #lastTimeS = Number.NEGATIVE_INFINITY
  #waiting: ((telegram: Telegram) => void)[] = []

  constructor(profile: Profile, clock: Clock) {
    this.#profile = profile
    this.#clock = clock
    this.#pattern = compilePattern(profile.stream!.pattern, { dotAll: true })
  }

  get latest(): Telegram | undefined {
    return this.#latest
  }

  /** Forgets what was heard over an earlier wire. */
  restart(): void {
    this.#latest = undefined
    this.#leastLagUs = undefined
    this.#lastTimeS = Number.NEGATIVE_INFINITY
  }

  /** Hears a line only where it is a telegram: for an instrument that answers as well. */
  hearIfOne(raw: string, at: Instant): boolean {
    const shell = undress(raw, this.#profile)
    if (!('text' in shell) || !this.#pattern.test(shell.text)) return false
    this.hear(raw, at)
    return true
  }

  hear(raw: string, at: Instant): void {
    const shell = undress(raw, this.#profile)
    const found = 'text' in shell ? this.#pattern.find(shell.text) : undefined
    const telegram: Telegram = {
      raw,
      text: found === undefined ? undefined : (shell as { text: string }).text,
      words: 'wrong' in shell ? shell.wrong : found ? '' : 'the telegram does not look as it should',
      at: found === undefined ? at : this.#momentOf(found.groups.time, at),
      marks: found === undefined ? ['garbled'] : this.#follow(found.groups.count),
    }
    this.#latest = telegram
    for (const tell of this.#waiting) tell(telegram)
  }

  /** The next telegram, or undefined when none comes within `ms`. */
  next(ms: number, signal?: StopSignal): Promise<Telegram | undefined> {
    return new Promise((resolve, reject) => {
      let timer: Disposable | undefined
      const end = (telegram: Telegram | undefined) => {
        timer?.dispose()
        signal?.removeEventListener('abort', onAbort)
        this.#waiting = this.#waiting.filter((each) => each !== end)
        resolve(telegram)
      }
      const onAbort = () => {
        end(undefined)
        reject(signal?.reason)
      }
      timer = this.#clock.after(Math.max(1, ms), () => end(undefined))
      this.#waiting.push(end)
      signal?.addEventListener('abort', onAbort)
    })
  }

  /**
   * The moment a telegram tells, on our clock. The instrument's count and ours differ by what is unknown and the time on the
   * way; the telegram that was quickest on its way shows the difference best. Never later than it was heard.
   */
  #momentOf(written: string | undefined, at: Instant): Instant {
    if (written === undefined) return at
    const timeS = Number(written) * 10 ** (this.#profile.stream!.timePower ?? 0)
    if (!Number.isFinite(timeS)) return at
    // A count that goes back began anew.
    if (timeS < this.#lastTimeS) this.#leastLagUs = undefined
    this.#lastTimeS = timeS
    const lagUs = at.monoUs - timeS * 1e6
    this.#leastLagUs = Math.min(lagUs, this.#leastLagUs ?? lagUs)
    const agoUs = Math.round(lagUs - this.#leastLagUs)
    return { utcUs: at.utcUs - agoUs, monoUs: at.monoUs - agoUs }
  }

  /** Telegrams are numbered: a number left out is a gap, and starting anew is a power cut. */
  #follow(said: string | undefined): readonly Mark[] {
    if (said === undefined) return []
    const { countAtPowerUp, countHighest } = this.#profile.stream!
    const before = this.#count
    const count = Number(said)
    this.#count = count
    if (before === undefined) return []
    const next = countHighest !== undefined && before >= countHighest ? 0 : before + 1
    if (count === next) return []
    return count === countAtPowerUp || count < before ? ['power-cycled', 'gap-before'] : ['gap-before']
  }
}
