import { RUNNER_PHASES, type StationState } from '../../app/contract/views.ts'
import type { Converted } from '../../app/live/chain.ts'
import { Watch, type WatchedReading } from '../../app/live/watch.ts'
import { celsiusWords } from '../../app/live/words.ts'
import type { Point } from '../../app/records/point.ts'
import type { Reading } from '../../app/records/reading.ts'
import type { Register } from '../../app/records/register.ts'
import type { SessionEvent, SessionInfo } from '../../app/records/session.ts'
import { sessionDate } from '../../app/results/analysis-channel.ts'
import { Strip } from '../station/strip.ts'
import type { ReadingPage, SessionFile } from '../store/session-file.ts'

const PAGE = 4_000
/** How often a plan that waits looks at its channels. */
const LOOK_US = 5_000_000
/** A replay that begins in the middle takes in no more than this before it, us; a wait is shorter. */
const MOST_BEFORE_US = 6 * 3600e6

export interface ReplayOptions {
  /** Records to use in place of the session's own, for 'what would it have been with the coefficients of now'. */
  readonly register?: Register
  /** Start here instead of at the beginning; earlier readings fill the windows. */
  readonly fromUtcUs?: number
  readonly onReading?: (reading: Reading, converted: Converted) => void
}

/** One wait for settling, judged anew from the stored readings. */
export interface ReplayedWait {
  readonly step: number
  readonly setpointC: number
  readonly fromUtcUs: number
  /** When the plan found it settled; null where the wait ended in another way. */
  readonly recordedUtcUs: number | null
  /** When the required channels stood still by this replay; null where they did not before the next setpoint. */
  readonly settledUtcUs: number | null
  /** Settled only after the plan had gone on. */
  readonly late: boolean
}

/** What happened until the session ended for good; a note or a signature of a later day is no part of its night. */
function ofTheNight(events: readonly SessionEvent[]): readonly SessionEvent[] {
  const end = events.findLastIndex(({ kind }) => kind === 'closed')
  const goesOn = events.findLastIndex(({ kind }) => kind === 'resumed') > end
  return end < 0 || goesOn ? events : events.slice(0, end + 1)
}

/**
 * Runs a stored session through its chains again: the same watch that judged it live, fed from the file in the order of
 * its own monotonic count, up to any moment asked for. It is aimed when the plan aimed it, and looks when the plan looked.
 */
export class Replayer {
  readonly #session: SessionFile
  readonly #info: SessionInfo
  readonly #register: Register
  readonly #events: readonly SessionEvent[]
  readonly #points: readonly Point[]
  readonly #strip = new Strip()
  readonly #onReading: ReplayOptions['onReading']
  readonly #waits: { -readonly [K in keyof ReplayedWait]: ReplayedWait[K] }[] = []
  readonly startUs = 0
  readonly endUs: number
  #watch: Watch
  #pages: Iterator<ReadingPage, undefined>
  #page: ReadingPage | undefined
  #at = 0
  /** Time of the latest reading taken in. */
  #near: { utcUs: number; monoUs: number } | undefined
  #seq = 0
  #event = 0
  #nowUs = 0
  #phase: StationState['runner']['phase']
  #step: number | null = null
  #lookAtUs = Number.POSITIVE_INFINITY
  #bathC: number | null = null

  constructor(session: SessionFile, options: ReplayOptions = {}) {
    this.#session = session
    this.#info = session.info
    this.#register = options.register ?? session.setup.register
    this.#onReading = options.onReading
    this.#watch = this.#newWatch()
    this.#events = ofTheNight(session.events())
    this.#points = session.points()
    this.#phase = session.setup.plan ? 'opening' : 'measuring'
    const last = session.lastSeq > 0 ? session.since(session.lastSeq - 1, 1)[0] : undefined
    this.#pages = session.pages(0, PAGE)
    this.endUs = Math.max(last?.monoUs ?? 0, this.#events.at(-1)?.monoUs ?? 0)
    if (options.fromUtcUs !== undefined) this.#begin(options.fromUtcUs - this.#info.startedUtcUs)
  }

  get nowUs(): number {
    return this.#nowUs
  }

  get done(): boolean {
    return this.#nowUs >= this.endUs
  }

  /** Waits for settling so far. */
  get waits(): readonly ReplayedWait[] {
    return this.#waits
  }

  /** Readings taken in so far, counted from the session's first. */
  get readings(): number {
    return this.#seq
  }

  /** Takes in everything up to a moment of the session's count. Returns how many readings that were. */
  advance(toUs: number): number {
    let taken = 0
    for (;;) {
      const kind = this.#next(toUs)
      if (kind === 'none') break
      if (kind === 'reading') taken += 1
    }
    this.#nowUs = Math.max(this.#nowUs, Math.min(toUs, this.endUs))
    return taken
  }

  /** Takes in the next reading, with what happened before it. undefined at the end. */
  step(): Reading | undefined {
    for (;;) {
      const kind = this.#next(this.endUs)
      if (kind === 'none') {
        this.#nowUs = this.endUs
        return undefined
      }
      if (kind !== 'reading') continue
      this.#nowUs = Math.max(this.#nowUs, this.#near!.monoUs)
      return this.#session.between(this.#seq, this.#seq)[0]
    }
  }

  /** Takes in whatever comes next, no later than `toUs`: a look at the channels, an event or a reading. */
  #next(toUs: number): 'look' | 'event' | 'reading' | 'none' {
    const readingUs = this.#nextReadingUs()
    const event = this.#events[this.#event]
    const eventUs = event?.monoUs ?? Number.POSITIVE_INFINITY
    if (this.#lookAtUs <= toUs && this.#lookAtUs <= Math.min(readingUs, eventUs)) {
      this.#look(this.#lookAtUs)
      return 'look'
    }
    if (event && eventUs <= toUs && eventUs <= readingUs) {
      this.#hear(event)
      this.#event += 1
      return 'event'
    }
    if (readingUs <= toUs && readingUs < Number.POSITIVE_INFINITY) {
      this.#take()
      return 'reading'
    }
    return 'none'
  }

  /** Moment of the next reading; Infinity after the last. */
  #nextReadingUs(): number {
    if (!this.#page || this.#at >= this.#page.count) {
      this.#page = this.#pages.next().value
      this.#at = 0
    }
    return this.#page ? this.#page.monoUs[this.#at]! : Number.POSITIVE_INFINITY
  }

  #newWatch(): Watch {
    const { bench, plan } = this.#session.setup
    return new Watch({
      bench,
      register: this.#register,
      date: sessionDate(this.#info),
      rule: plan?.settling ?? null,
    })
  }

  #take(): void {
    const page = this.#page!
    const at = this.#at++
    const { numbering } = this.#session
    const seq = page.seq[at]!
    const { channel, unit, currentMa } = numbering.sourceOf(page.source[at]!, seq)
    const value = page.value[at]!
    const reading: WatchedReading = {
      seq,
      channel,
      utcUs: page.utcUs[at]!,
      monoUs: page.monoUs[at]!,
      unit,
      marks: numbering.marksOf(page.marks[at]!),
      currentMa,
    }
    this.#seq = seq
    this.#near = reading
    const converted = this.#watch.takeNumber(reading, value)
    if (converted) this.#onReading?.(this.#session.between(seq, seq)[0]!, converted)
    else if (channel === this.#session.setup.bench.bath?.instrument) {
      this.#bathC = Number.isNaN(value) ? null : value
    }
  }

  #hear(event: SessionEvent): void {
    this.#strip.addEvent(event)
    const { data, kind } = event
    if (kind === 'resumed') this.#takeUp()
    if (kind === 'settled') this.#hearSettled(event)
    if (typeof data.aimC === 'number') this.#watch.aim(data.aimC, event)
    if (typeof data.step === 'number') this.#step = data.step
    const phase = RUNNER_PHASES.find((known) => known === data.phase)
    if (phase === undefined) return
    const before = this.#phase
    this.#phase = phase
    const setpointC = this.#session.setup.plan?.setpoints[this.#step ?? -1]?.celsius
    if (phase === 'setting' && before === 'setting' && kind === 'plan-step' && data.part === 'setpoints') {
      this.#watch.aim(setpointC ?? null, event)
    } else if (phase === 'waiting' && before !== 'waiting' && setpointC !== undefined) {
      this.#watch.aim(setpointC, event)
      this.#waits.push({
        step: this.#step!,
        setpointC,
        fromUtcUs: event.utcUs,
        recordedUtcUs: null,
        settledUtcUs: null,
        late: false,
      })
      this.#lookAtUs = event.monoUs
    } else if (phase === 'finishing' && before !== 'finishing') this.#watch.aim(null, event)
    if (phase !== 'waiting' && phase !== 'measuring') this.#lookAtUs = Number.POSITIVE_INFINITY
  }

  /** The plan's own looks drift a little on a real clock: at this moment it looked for certain. */
  #hearSettled(event: SessionEvent): void {
    const wait = this.#waits.at(-1)
    if (!wait) return
    wait.recordedUtcUs = event.utcUs
    if (this.#lookAtUs !== Number.POSITIVE_INFINITY) this.#look(event.monoUs)
  }

  #look(monoUs: number): void {
    this.#lookAtUs = monoUs + LOOK_US
    if (!this.#watch.isSettled({ monoUs })) return
    const wait = this.#waits.at(-1)!
    wait.settledUtcUs = this.#utcAt(monoUs)
    wait.late = this.#phase !== 'waiting'
    this.#lookAtUs = Number.POSITIVE_INFINITY
  }

  /** UTC of a moment, by the latest thing taken in, so that a clock that was set is followed. */
  #utcAt(monoUs: number): number {
    const near = this.#near
    return near ? near.utcUs + monoUs - near.monoUs : this.#info.startedUtcUs + monoUs
  }

  /** Another life of the core took the session up: it watched afresh, from the readings of the last window. */
  #takeUp(): void {
    this.#watch = this.#newWatch()
    const { rule } = this.#watch
    const windowUs = (rule.windowS * rule.adaptive + rule.holdS) * 1e6
    for (const reading of this.#lastReadings(windowUs)) this.#watch.take(reading)
    if (['waiting', 'measuring', 'setting'].includes(this.#phase)) this.#phase = 'opening'
    this.#lookAtUs = Number.POSITIVE_INFINITY
  }

  /** What was stored in the last `windowUs` before the newest reading taken in, oldest first. */
  #lastReadings(windowUs: number): Reading[] {
    const found: Reading[] = []
    let fromUs = Number.NEGATIVE_INFINITY
    for (let to = this.#seq; to > 0; to -= PAGE) {
      const page = this.#session.between(Math.max(1, to - PAGE + 1), to)
      if (to === this.#seq && page.length > 0) fromUs = page.at(-1)!.monoUs - windowUs
      const older = page.findLastIndex((reading) => reading.monoUs < fromUs)
      found.unshift(...page.slice(older + 1))
      if (older >= 0) break
    }
    return found
  }

  /** Starts in the middle: events are all heard, readings only from where what is shown there depends on them. */
  #begin(fromUs: number): void {
    const { rule } = this.#watch
    const keepUs = (Math.max(rule.windowS * rule.adaptive, 300) + rule.holdS + 60) * 1e6
    const phases = this.#events.filter((e) => e.monoUs <= fromUs && e.data.phase === 'setting')
    const aimedUs = phases.at(-1)?.monoUs ?? 0
    const neededUs = Math.max(aimedUs - keepUs, fromUs - MOST_BEFORE_US)
    this.#seq = this.#seqBefore(neededUs)
    this.#pages = this.#session.pages(this.#seq, PAGE)
    while ((this.#events[this.#event]?.monoUs ?? Number.POSITIVE_INFINITY) < neededUs) {
      this.#hear(this.#events[this.#event]!)
      this.#event += 1
    }
    this.advance(fromUs)
  }

  /** seq of the last reading before a moment; readings are stored nearly in the order of time. */
  #seqBefore(monoUs: number): number {
    let low = 0
    let high = this.#session.lastSeq
    while (low < high) {
      const middle = (low + high + 1) >> 1
      if ((this.#session.between(middle, middle)[0]?.monoUs ?? monoUs) < monoUs) low = middle
      else high = middle - 1
    }
    return low
  }

  /** Text of a reading, which is asked for only when somebody looks. */
  #rawOf(seq: number | null): string | null {
    return seq === null ? null : (this.#session.between(seq, seq)[0]?.raw ?? null)
  }

  /** The state of the station as it was, for a window. */
  state(): StationState {
    const info = this.#info
    const { setup } = this.#session
    const now = { monoUs: this.#nowUs }
    const utcUs = info.startedUtcUs + this.#nowUs
    const { plan } = setup
    const setpointC = this.#watch.targetC
    return {
      utcUs,
      clock: 'virtual',
      pace: null,
      program: info.program,
      bench: { id: setup.bench.id, name: setup.bench.name },
      session: {
        id: info.id,
        name: info.name,
        startedUtcUs: info.startedUtcUs,
        readings: this.#seq,
        look: false,
      },
      runner: {
        phase: this.done ? 'ended' : this.#phase,
        words: `Replay${setpointC === null ? '' : `, setpoint ${celsiusWords(setpointC)}`}.`,
        step: this.#step,
        steps: plan?.setpoints.length ?? 0,
        setpointC,
        bathC: this.#bathC,
        startedUtcUs: info.startedUtcUs,
        expectedEndUtcUs: info.startedUtcUs + this.endUs,
        question: null,
        ending: this.done ? info.ending : null,
      },
      group: this.#watch.group(now),
      channels: this.#watch.channelViews(now).map((view) => ({ ...view, raw: this.#rawOf(view.lastSeq) })),
      links: [],
      strip: [
        ...this.#strip.marks,
        ...this.#points.flatMap((point) =>
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
      versions: {
        points: 0,
        register: 0,
        orders: 0,
        plans: 0,
        sessions: 0,
        bench: 0,
        settings: 0,
        benches: 0,
      },
    }
  }
}
