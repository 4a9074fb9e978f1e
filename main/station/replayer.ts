import { sessionDate } from '../../app/comparison/analysis-channel.ts'
import { Watch } from '../../app/comparison/watch.ts'
import { celsiusWords } from '../../app/comparison/words.ts'
import { RUNNER_PHASES, type StationState } from '../../app/contract/views.ts'
import type { Reading } from '../../app/records/reading.ts'
import type { Register } from '../../app/records/register.ts'
import type { SessionEvent } from '../../app/records/session.ts'
import type { SessionFile } from '../store/session-file.ts'
import { Strip } from './strip.ts'

const PAGE = 4_000

export interface ReplayOptions {
  /** Records to use in place of the session's own, for 'what would it have been with the coefficients of now'. */
  readonly register?: Register
  /** Start here instead of at the beginning; earlier readings fill the windows. */
  readonly fromUtcUs?: number
  readonly onReading?: (reading: Reading, celsius: number) => void
}

/** When the required channels became steady, judged anew from the stored readings. */
export interface SettledAgain {
  readonly setpointC: number
  readonly utcUs: number
}

/**
 * Runs a stored session through its chains again: the same watch that judged it live, fed from the file in the order of
 * its own monotonic count, up to any moment asked for.
 */
export class Replayer {
  readonly #session: SessionFile
  readonly #watch: Watch
  readonly #events: readonly SessionEvent[]
  readonly #strip = new Strip()
  readonly #onReading: ReplayOptions['onReading']
  readonly #register: Register
  readonly settled: SettledAgain[] = []
  readonly startUs: number
  readonly endUs: number
  #page: Reading[] = []
  #at = 0
  #seq = 0
  #event = 0
  #nowUs: number
  #phase: StationState['runner']['phase'] = 'opening'
  #step: number | null = null
  #isSettled = false

  constructor(session: SessionFile, options: ReplayOptions = {}) {
    const { bench, plan, register } = session.setup
    this.#session = session
    this.#register = options.register ?? register
    this.#onReading = options.onReading
    this.#watch = new Watch({
      bench,
      register: this.#register,
      date: sessionDate(session.info),
      rule: plan?.settling ?? null,
    })
    this.#events = session.events()
    const last = session.lastSeq > 0 ? session.since(session.lastSeq - 1, 1)[0] : undefined
    this.startUs = 0
    this.endUs = Math.max(last?.monoUs ?? 0, this.#events.at(-1)?.monoUs ?? 0)
    this.#nowUs = this.startUs
    if (options.fromUtcUs !== undefined) this.advance(options.fromUtcUs - session.info.startedUtcUs)
  }

  get nowUs(): number {
    return this.#nowUs
  }

  get done(): boolean {
    return this.#nowUs >= this.endUs
  }

  /** Takes in everything up to a moment of the session's count. Returns how many readings that were. */
  advance(toUs: number): number {
    let taken = 0
    for (;;) {
      const reading = this.#peek()
      const event = this.#events[this.#event]
      if (event && event.monoUs <= toUs && (!reading || event.monoUs <= reading.monoUs)) {
        this.#hear(event)
        this.#event += 1
      } else if (reading && reading.monoUs <= toUs) {
        this.#take(reading)
        taken += 1
      } else break
    }
    this.#nowUs = Math.max(this.#nowUs, Math.min(toUs, this.endUs))
    return taken
  }

  #peek(): Reading | undefined {
    if (this.#at >= this.#page.length) {
      this.#page = this.#session.since(this.#seq, PAGE)
      this.#at = 0
    }
    return this.#page[this.#at]
  }

  #take(reading: Reading): void {
    this.#at += 1
    this.#seq = reading.seq
    const converted = this.#watch.take(reading)
    if (converted) this.#onReading?.(reading, converted.celsius)
    if (
      this.#phase === 'waiting' &&
      !this.#isSettled &&
      this.#watch.targetC !== null &&
      this.#watch.group(reading).state === 'flat'
    ) {
      this.#isSettled = true
      this.settled.push({ setpointC: this.#watch.targetC, utcUs: reading.utcUs })
    }
  }

  #hear(event: SessionEvent): void {
    this.#strip.addEvent(event)
    const { data } = event
    const phase = RUNNER_PHASES.find((known) => known === data.phase)
    if (event.kind === 'setpoint' && typeof data.celsius === 'number') this.#aim(data.celsius, event)
    if (phase && phase !== this.#phase) {
      this.#phase = phase
      if (phase === 'waiting' && this.#watch.targetC !== null) this.#aim(this.#watch.targetC, event)
    }
    if (typeof data.step === 'number') this.#step = data.step
  }

  #aim(celsius: number, at: SessionEvent): void {
    this.#watch.aim(celsius, at)
    this.#isSettled = false
  }

  /** The state of the station as it was, for a window. */
  state(): StationState {
    const { info, setup } = this.#session
    const now = { monoUs: this.#nowUs }
    const utcUs = info.startedUtcUs + this.#nowUs
    const { plan } = setup
    const setpointC = this.#watch.targetC
    return {
      utcUs,
      clock: 'virtual',
      program: info.program,
      bench: { id: setup.bench.id, name: setup.bench.name },
      session: { id: info.id, name: info.name, startedUtcUs: info.startedUtcUs, readings: this.#seq },
      runner: {
        phase: this.done ? 'ended' : this.#phase,
        words: `Replay${setpointC === null ? '' : `, setpoint ${celsiusWords(setpointC)}`}.`,
        step: this.#step,
        steps: plan?.setpoints.length ?? 0,
        setpointC,
        bathC: null,
        startedUtcUs: info.startedUtcUs,
        expectedEndUtcUs: info.startedUtcUs + this.endUs,
        question: null,
        ending: this.done ? info.ending : null,
      },
      group: this.#watch.group(now),
      channels: this.#watch.channelViews(now),
      links: [],
      strip: [
        ...this.#strip.marks,
        ...this.#session.points().flatMap((point) =>
          point.endUtcUs <= utcUs
            ? [
                {
                  kind: 'point' as const,
                  fromUtcUs: point.startUtcUs,
                  toUtcUs: point.endUtcUs,
                  words: `Point at ${celsiusWords(point.setpointC)}`,
                  celsius: point.setpointC,
                },
              ]
            : [],
        ),
      ].sort((a, b) => a.fromUtcUs - b.fromUtcUs),
      alarms: [],
      disk: { freeBytes: 0, words: 'not of this session', low: false },
      versions: { points: 0, register: 0, plans: 0, sessions: 0, bench: 0, settings: 0 },
    }
  }
}
