import type { Clock, Disposable } from '../../app/base/clock.ts'
import type { Measured } from '../../app/instruments/faces.ts'
import type { Channel } from '../../app/records/bench.ts'
import { withMarks } from '../../app/records/mark.ts'

/** One measured value on its way to the record. */
export interface Held<Stop> {
  readonly channel: Channel
  readonly measured: Measured
  readonly currentMa: number
  readonly discarded: boolean
  /** The stop of an order of reading that it was taken for. */
  readonly stop: Stop | undefined
  /** Channels of other inputs whose values came with the same answer, by their input. */
  readonly alsoOf?: ReadonlyMap<number, Channel>
}

/** How long a value is held where no other follows: an instrument that repeats itself does so within this, ms. */
export const HOLD_MS = 1_000
/**
 * A reply that names its input is of no other channel; it may still be that of one scan before. Then the right one follows
 * as soon as the instrument has worked: within so many times what it usually takes, and no less than this, ms.
 */
const NAMED_TIMES = 4
const NAMED_LEAST_MS = 20

/** How long a value is held, ms, where the instrument usually answers after `usualMs`. */
export const holdMs = ({ namesInput }: Measured, usualMs: number): number =>
  namesInput ? Math.min(HOLD_MS, Math.max(NAMED_LEAST_MS, NAMED_TIMES * usualMs)) : HOLD_MS

/**
 * Holds the last value of a meter back until the next one is there, or for a moment: an answer that comes unasked, or sooner
 * than the instrument can work, shows that the one before it may have been to an earlier question. Then it is still here to
 * be marked.
 */
export class Holding<Stop> {
  readonly #clock: Clock
  readonly #store: (held: Held<Stop>) => void
  #held: Held<Stop> | undefined
  #timer: Disposable | undefined
  #released: (() => void) | undefined

  constructor(clock: Clock, store: (held: Held<Stop>) => void) {
    this.#clock = clock
    this.#store = store
  }

  put(held: Held<Stop>, ms = HOLD_MS): void {
    this.release()
    this.#held = held
    this.#timer = this.#clock.after(ms, () => this.release())
  }

  /** Marks the value held, where there is one that counts; returns the stop it was taken for. */
  doubt(): Stop | undefined {
    const held = this.#held
    if (!held || held.measured.value === undefined) return undefined
    const { measured } = held
    const doubted = <T extends Pick<Measured, 'marks'>>(each: T): T => ({
      ...each,
      marks: withMarks(each.marks, ['doubtful-answer']),
    })
    const row = measured.row && { row: measured.row.map(doubted) }
    this.#held = { ...held, measured: { ...doubted(measured), ...row } }
    return measured.marks.includes('doubtful-answer') ? undefined : held.stop
  }

  release(): void {
    const held = this.#held
    this.#held = undefined
    this.#timer?.dispose()
    this.#timer = undefined
    if (held) this.#store(held)
    this.#released?.()
    this.#released = undefined
  }

  /** Resolves when nothing is held any more. */
  async emptied(): Promise<void> {
    if (this.#held) {
      await new Promise<void>((resolve) => {
        const before = this.#released
        this.#released = () => {
          before?.()
          resolve()
        }
      })
    }
  }
}
