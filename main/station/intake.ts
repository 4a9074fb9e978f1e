import type { Instant } from '../../app/base/clock.ts'
import type { Measured } from '../../app/instruments/faces.ts'
import type { Watch } from '../../app/live/watch.ts'
import { said } from '../../app/messages/said.ts'
import type { Channel } from '../../app/records/bench.ts'
import { isExcluded, MARKS, type Mark, withMarks } from '../../app/records/mark.ts'
import type { NewReading } from '../../app/records/reading.ts'
import { Gaps } from './gaps.ts'
import type { Recorder } from './recorder.ts'

/** The wall clock against the count from one reading to the next: what differs by more is a step, s, and no slewing, part. */
const STEP_S = 0.25
const SLEW = 1e-3

/**
 * From a measured value to a stored reading: its marks, the gap it opens or closes, and what its company makes one
 * suspect. Nothing is made up: where there is no number, the reading says so.
 */
export class Intake {
  readonly gaps = new Gaps()
  readonly #recorder: Recorder
  readonly #watch: Watch
  readonly #lastGood = new Map<string, Instant>()
  /** Moment of each channel's last reading, good or not, and of the beginning. */
  readonly #moments = new Map<string, Instant>()
  readonly #born: Instant
  readonly #momentsOf = new Map<string, NonNullable<Measured['moments']>>()
  readonly #channels: readonly Channel[]

  constructor(recorder: Recorder, watch: Watch, channels: readonly Channel[]) {
    this.#recorder = recorder
    this.#watch = watch
    this.#channels = channels
    this.#born = recorder.now()
  }

  /** A gap that concerns every channel: the station itself was away, or the computer slept. */
  interrupted(from: ReadonlyMap<string, Instant>, cause: string): void {
    for (const channel of this.#channels) {
      const last = from.get(channel.id) ?? this.#lastGood.get(channel.id)
      if (last) this.gaps.open(channel.id, last, cause)
    }
  }

  /** Whether the computer's clock was set between a channel's reading before and this one: told by the two times of each. */
  #isAfterStep(channel: string, { utcUs, monoUs }: Instant): boolean {
    const before = this.#moments.get(channel) ?? this.#born
    this.#moments.set(channel, { utcUs, monoUs })
    const elapsedUs = monoUs - before.monoUs
    return Math.abs(utcUs - before.utcUs - elapsedUs) > STEP_S * 1e6 + SLEW * Math.abs(elapsedUs)
  }

  /**
   * Stores all values of one answer: those of earlier moments and of other channels, then the one that was asked for. They go
   * to the file in one commit, each with its own time.
   */
  takeRow(
    channel: Channel,
    measured: Measured,
    currentMa: number,
    discarded: boolean,
    alsoOf: ReadonlyMap<number, Channel> = new Map(),
  ): void {
    const { row = [], moments } = measured
    if (row.length > 0 && moments !== undefined) this.#tellMoments(channel, moments)
    for (const value of row) {
      const of = value.input === undefined ? channel : alsoOf.get(value.input)
      if (of !== undefined) this.take(of, value, currentMa, discarded)
    }
    this.take(channel, measured, currentMa, discarded)
  }

  /** Says once in a session, and again where it changes, where the times of a channel's values are from. */
  #tellMoments(channel: Channel, moments: NonNullable<Measured['moments']>): void {
    if (this.#momentsOf.get(channel.id) === moments) return
    this.#momentsOf.set(channel.id, moments)
    this.#recorder.tell({
      kind: 'note',
      subject: channel.id,
      said: said(moments === 'told' ? 'row-times-told' : 'row-times-spread', { channel: channel.name }),
      data: { moments },
    })
  }

  /** Stores one measured value of a channel. */
  take(channel: Channel, measured: Measured, currentMa: number, discarded: boolean): void {
    const at = this.#recorder.stamp(measured.at)
    const value = measured.value ?? null
    let marks: Mark[] = [...measured.marks]
    if (value === null && !isExcluded(marks)) marks.push('garbled')
    if (discarded) marks = withMarks(marks, ['settling-discarded'])
    if (this.#isAfterStep(channel.id, at)) marks = withMarks(marks, ['clock-stepped'])
    const reading: NewReading = {
      channel: channel.id,
      utcUs: at.utcUs,
      monoUs: at.monoUs,
      raw: measured.raw,
      value,
      unit: measured.unit,
      marks,
      currentMa,
    }
    const bad = marks.find((mark) => MARKS[mark].excludes && mark !== 'settling-discarded')
    if (bad !== undefined) {
      const cause = measured.note ?? MARKS[bad].words
      this.gaps.open(channel.id, this.#lastGood.get(channel.id) ?? at, cause.replace(/\.$/, ''))
      this.#recorder.take(reading)
      return
    }
    if (discarded) {
      // Nothing waits for it: it goes with the reading that follows.
      this.#recorder.take(reading, true)
      return
    }
    const gap = this.gaps.close(channel.id, channel.name, at)
    if (gap) marks = withMarks(marks, ['gap-before'])
    const suspicions = this.#watch.suspicions({ ...reading, marks })
    this.#lastGood.set(channel.id, at)
    this.#recorder.take({ ...reading, marks: withMarks(marks, suspicions) })
    if (gap) this.#recorder.tell(gap)
  }

  /** A visit that could not be made: one reading that says so for each outage, then silence. */
  missed(channel: Channel, at: Instant, unit: NewReading['unit'], cause: string): void {
    const last = this.#lastGood.get(channel.id)
    // Before the first good reading there is nothing that could be interrupted.
    if (!last || !this.gaps.open(channel.id, last, cause)) return
    const stamped = this.#recorder.stamp(at)
    this.#recorder.take({
      channel: channel.id,
      ...stamped,
      raw: '',
      value: null,
      unit,
      marks: ['silent'],
      currentMa: null,
    })
  }
}
