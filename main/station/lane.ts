import type { Clock, Disposable, StopSignal } from '../../app/base/clock.ts'
import { entryOf } from '../../app/base/lists.ts'
import { InstrumentError, type Measured, type Meter, type Scanner } from '../../app/instruments/faces.ts'
import type { Channel } from '../../app/records/bench.ts'
import { type Held, Holding, holdMs } from './holding.ts'
import type { Intake } from './intake.ts'
import type { Turnstile } from './signals.ts'

/** One stop of an order of reading on a lane. */
export interface LaneStop {
  readonly channel: string
  readonly currentFactor?: number
  /** Wait before readings count, s, where it is not the channel's own. */
  readonly settleS?: number
  readonly readings?: number
}

/** An input that a scanner was told to connect, and when, us of the clock's own count. */
export interface Connection {
  readonly input: number
  readonly atUs: number
}

export interface LaneOptions {
  readonly meter: Meter
  readonly channels: readonly Channel[]
  readonly scanners: ReadonlyMap<string, Scanner>
  /** One for each scanner, shared by all lanes that go through it. */
  readonly turnstiles: ReadonlyMap<string, Turnstile>
  /** What each scanner was last told to connect, shared by all lanes that go through it. */
  readonly connections: Map<string, Connection>
  readonly clock: Clock
  readonly intake: Intake
  readonly scanEveryS: number
  /** What went wrong that is not an instrument's doing. */
  readonly onFault: (fault: unknown) => void
}

interface Job {
  readonly stops: readonly LaneStop[]
  readonly signal: AbortSignal
  onStart(): void
  resolve(whole: boolean): void
  reject(fault: unknown): void
}

/** How often a link that is not ready is looked at again. */
const LOOK_AGAIN_MS = 1_000
/** How long an order of reading waits for a link that was lost before it is given up, ms. */
const PATIENCE_MS = 120_000
/** Least wait where nobody knows what current flowed before, ms: a small bead warmed by too much of it cools down. */
const UNKNOWN_SETTLE_MS = 30_000
/** How long a scanner is taken at its word; then it is told again, for it may have lost its power meanwhile, us. */
const TOLD_FOR_US = 60e6
/** How much of the longest measurement is remembered after a shorter one. */
const USUAL_KEEPS = 0.95
/** Attempts at a stop whose readings are all unusable. */
const ATTEMPTS = 3
/** Stops of one order that are made again because their answers turned out doubtful. */
const MOST_AGAIN = 20

/**
 * One bridge or meter with the channels measured through it, on a schedule of its own. It scans them in turn, or runs an
 * order of reading when it is given one. Several lanes run at once; they wait for each other only where they share a
 * scanner.
 */
export class Lane {
  readonly meter: Meter
  readonly channels: readonly Channel[]
  readonly #options: LaneOptions
  readonly #subscriptions: Disposable[] = []
  readonly #holding: Holding<LaneStop>
  /** Stops of the order under way whose last answer turned out doubtful. */
  #again: LaneStop[] = []
  #madeAgain = 0
  #ended = new AbortController()
  #running: Promise<void> | undefined
  #job: Job | undefined
  #wake: (() => void) | undefined
  /** The path and current in force; unknown after any doubt. */
  #path = ''
  #currentMa: number | undefined
  /** The channel connected last, while the path is known. */
  #connected: Channel | undefined
  /** Counts the times path and current became unknown: what was under way then is not trusted. */
  #doubts = 0
  /** Instruments whose keep-warm currents are set. */
  readonly #warm = new Set<string>()
  /** Channels that have had their value in the scan under way, by a visit or with the answer to another one. */
  readonly #served = new Set<string>()
  /** Whether the last visit of a channel brought a usable reading. */
  readonly #answered = new Map<string, boolean>()
  /** When any channel of this lane was last measured, us of the clock's own count. */
  #heardUs = Number.NEGATIVE_INFINITY
  /** How long a measurement of this lane takes, the longest of late, ms. */
  #usualMs = 0

  constructor(options: LaneOptions) {
    this.#options = options
    this.meter = options.meter
    this.channels = options.channels
    this.#holding = new Holding(options.clock, ({ channel, measured, currentMa, discarded, alsoOf }) => {
      options.intake.takeRow(channel, measured, currentMa, discarded, alsoOf)
    })
    this.#subscriptions.push(
      options.meter.onDidDoubt(() => {
        const stop = this.#holding.doubt()
        if (stop) this.#again.push({ ...stop, readings: 1 })
      }),
    )
    for (const instrument of [options.meter, ...options.scanners.values()]) {
      this.#subscriptions.push(
        instrument.onDidChangeStatus((status) => {
          if (status.state === 'ready') return
          this.#warm.delete(instrument.id)
          options.connections.delete(instrument.id)
          this.#forget()
        }),
      )
    }
  }

  start(): void {
    this.#running ??= this.#loop()
  }

  async stop(): Promise<void> {
    this.#ended.abort(new Error('the lane has ended'))
    this.#wake?.()
    for (const subscription of this.#subscriptions) subscription.dispose()
    await this.#running
    this.#holding.release()
  }

  /** Resolves when the last value measured has gone on to the record. */
  emptied(): Promise<void> {
    return this.#holding.emptied()
  }

  /**
   * Runs an order of reading in place of the scan, from the end of the visit under way. Resolves true when every stop
   * gave a reading that counts, false where one did not; rejects with the signal's reason when that is aborted.
   */
  run(stops: readonly LaneStop[], signal: AbortSignal, onStart: () => void = () => {}): Promise<boolean> {
    if (signal.aborted) return Promise.reject(signal.reason)
    return new Promise((resolve, reject) => {
      this.#job = { stops, signal, onStart, resolve, reject }
      this.#wake?.()
    })
  }

  /**
   * Whether a channel merely waits its turn while an order of reading is at others: it answered when it was last asked,
   * and the lane is being heard, its last value no longer ago than `withinS`.
   */
  waitsItsTurn(channel: string, withinS: number): boolean {
    if (!this.#job || this.#answered.get(channel) !== true) return false
    return (this.#options.clock.now().monoUs - this.#heardUs) / 1e6 <= withinS
  }

  /** Somebody else may have switched something: path and current are set anew. */
  doubt(): void {
    this.#warm.clear()
    this.#options.connections.clear()
    this.#forget()
  }

  #forget(): void {
    this.#doubts += 1
    this.#path = ''
    this.#currentMa = undefined
  }

  async #loop(): Promise<void> {
    const { clock, scanEveryS } = this.#options
    while (!this.#ended.signal.aborted) {
      try {
        if (this.#job) await this.#runJob(this.#job)
        else {
          const from = clock.now().monoUs
          await this.#scan()
          const leftMs = scanEveryS * 1000 - (clock.now().monoUs - from) / 1000
          if (leftMs > 0 && !this.#job) await this.#pause(leftMs)
        }
      } catch (fault) {
        if (this.#ended.signal.aborted) break
        this.#options.onFault(fault)
        this.#forget()
        await this.#pause(LOOK_AGAIN_MS)
      }
    }
    this.#job?.reject(this.#ended.signal.reason)
  }

  async #scan(): Promise<void> {
    let reached = false
    this.#served.clear()
    for (const channel of this.channels) {
      if (this.#job || this.#ended.signal.aborted) return
      if (this.#served.has(channel.id)) continue
      this.#served.add(channel.id)
      if (await this.#visit(channel, { channel: channel.id }, this.#ended.signal)) reached = true
    }
    if (!reached) await this.#pause(LOOK_AGAIN_MS)
  }

  async #runJob(job: Job): Promise<void> {
    const signal = AbortSignal.any([job.signal, this.#ended.signal])
    try {
      job.onStart()
      let whole = true
      const stops = [...job.stops]
      this.#again = []
      this.#madeAgain = 0
      for (let stop = stops.shift(); stop !== undefined; stop = stops.shift()) {
        const channel = this.channels.find((c) => c.id === stop.channel)
        if (!channel) throw new RangeError(`${stop.channel} is not on this lane`)
        let got = false
        for (let attempt = 0; attempt < ATTEMPTS && !got; attempt++) {
          signal.throwIfAborted()
          if (!(await this.#readyWithin(channel, PATIENCE_MS, signal))) break
          got = await this.#visit(channel, stop, signal)
        }
        whole &&= got
        stops.unshift(...this.#takeAgain(job.stops.length))
      }
      this.#finish(job, () => job.resolve(whole))
    } catch (fault) {
      this.#finish(job, () => job.reject(fault))
      if (!job.signal.aborted && !(fault instanceof InstrumentError)) throw fault
    }
  }

  /** Stops to be made once more; an instrument that never stops repeating itself is not asked for ever. */
  #takeAgain(stops: number): LaneStop[] {
    const again = this.#again
    this.#again = []
    this.#madeAgain += again.length
    return this.#madeAgain > Math.max(stops, MOST_AGAIN) ? [] : again
  }

  #finish(job: Job, tell: () => void): void {
    if (this.#job === job) this.#job = undefined
    tell()
  }

  #instruments(channel: Channel): readonly (Meter | Scanner)[] {
    return [this.meter, ...channel.route.map(({ scanner }) => entryOf(this.#options.scanners, scanner))]
  }

  async #readyWithin(channel: Channel, patienceMs: number, signal: StopSignal): Promise<boolean> {
    const { clock } = this.#options
    const until = clock.now().monoUs + patienceMs * 1000
    for (;;) {
      const missing = this.#instruments(channel).find((i) => i.status.state !== 'ready')
      if (!missing) return true
      this.#missed(channel, `${missing.id}: ${missing.status.words}`)
      if (clock.now().monoUs >= until) return false
      await clock.sleep(LOOK_AGAIN_MS, signal)
    }
  }

  /** Visits one channel; true when at least one reading that can be used came of it. */
  async #visit(channel: Channel, stop: LaneStop, signal: AbortSignal): Promise<boolean> {
    const usable = await this.#visited(channel, stop, signal)
    this.#answered.set(channel.id, usable)
    return usable
  }

  async #visited(channel: Channel, stop: LaneStop, signal: AbortSignal): Promise<boolean> {
    if (!(await this.#readyWithin(channel, 0, signal))) return false
    const leave = await this.#enter(channel)
    try {
      const currentMa = channel.currentMa * (stop.currentFactor ?? 1)
      if (!(await this.#route(channel, currentMa, stop, signal))) return false
      let usable = false
      const readings = stop.readings ?? channel.readings
      for (let taken = 0; taken < readings; ) {
        const doubts = this.#doubts
        const measured = await this.#measure(channel, currentMa, signal)
        // A scanner lost meanwhile may have opened: nobody knows what was measured.
        const doubted = doubts !== this.#doubts
        // Values of other moments are readings of this visit as well.
        taken += 1 + (measured.row?.filter(({ input }) => input === undefined).length ?? 0)
        const alsoOf = this.#alsoGiven(channel, measured, doubted)
        this.#hold({
          channel,
          measured,
          currentMa,
          discarded: doubted,
          stop: this.#job ? stop : undefined,
          alsoOf,
        })
        if (doubted) return usable
        if (measured.value !== undefined) usable = true
        else if (this.meter.status.state !== 'ready') break
      }
      // A scanner that lost its power unseen has let go: it is told again.
      if (!usable) this.#distrust(channel)
      return usable
    } catch (fault) {
      if (signal.aborted || !(fault instanceof InstrumentError)) throw fault
      this.#distrust(channel)
      this.#forget()
      this.#missed(channel, fault.message.replace(/\.$/, ''))
      return false
    } finally {
      leave()
    }
  }

  /**
   * Channels whose values came with an answer to another one: on a scan, connected without a scanner, and measured in the
   * same way. An order of reading wants each value at its own stop.
   */
  #alsoGiven(channel: Channel, { row = [] }: Measured, doubted: boolean): ReadonlyMap<number, Channel> {
    const given = new Map<number, Channel>()
    if (this.#job || doubted) return given
    const way = ({ currentMa, average, range, route, discard, readings }: Channel) =>
      JSON.stringify([currentMa, average, range, route, discard, readings])
    const plain = way({ ...channel, route: [], discard: 0, readings: 1 })
    for (const { input, value } of row) {
      if (input === undefined) continue
      const other = this.channels.find((each) => each.input === input && way(each) === plain)
      if (other === undefined || this.#served.has(other.id)) continue
      given.set(input, other)
      this.#served.add(other.id)
      this.#answered.set(other.id, value !== undefined)
    }
    return given
  }

  #distrust(channel: Channel): void {
    for (const { scanner } of channel.route) this.#options.connections.delete(scanner)
  }

  /** Connects a channel and lets it settle; readings taken meanwhile are marked. False where no path could be made. */
  async #route(channel: Channel, currentMa: number, stop: LaneStop, signal: AbortSignal): Promise<boolean> {
    const { clock } = this.#options
    await this.#keepWarm(signal)
    const path = `${channel.input}/${channel.route.map((r) => `${r.scanner}:${r.input}`).join('/')}`
    const samePath = path === this.#path
    const sameCurrent = currentMa === this.#currentMa
    const lowered = await this.#lowerFirst(currentMa, signal)
    this.#path = ''
    const doubts = this.#doubts
    const from = clock.now().monoUs
    const switched = await this.#connect(channel, signal)
    if (samePath && sameCurrent && !switched) {
      this.#path = path
      return true
    }
    const ownMs = stop.settleS === undefined ? channel.settleMs : stop.settleS * 1000
    // A meter sets its current, and closes its own input, with a measurement: one is made and marked before the wait.
    const currentToSet = !sameCurrent && !lowered
    const inputToSet = ownMs > 0 && channel.input !== this.#connected?.input
    const toSet = currentToSet || inputToSet ? 1 : 0
    const discard = Math.max(channel.discard, toSet)
    for (let i = 0; i < toSet; i++) {
      await this.#discard(channel, currentMa, signal)
    }
    const settleMs = this.#maybeHeated(currentMa) ? Math.max(ownMs, UNKNOWN_SETTLE_MS) : ownMs
    const leftMs = settleMs - (clock.now().monoUs - from) / 1000
    if (leftMs > 0) await clock.sleep(leftMs, signal)
    for (let i = toSet; i < discard; i++) {
      await this.#discard(channel, currentMa, signal)
    }
    if (doubts !== this.#doubts) return false
    this.#path = path
    this.#currentMa = currentMa
    this.#connected = channel
    return true
  }

  /**
   * Tells the scanners of a channel's route what to connect; true where a contact may have moved. One that is connected
   * already is left alone: a relay that is told again opens and closes, and a reading would fall into its settling.
   */
  async #connect(channel: Channel, signal: AbortSignal): Promise<boolean> {
    const { clock, connections, scanners } = this.#options
    let switched = false
    for (const { scanner, input } of channel.route) {
      const told = connections.get(scanner)
      if (told?.input === input && clock.now().monoUs - told.atUs < TOLD_FOR_US) continue
      connections.delete(scanner)
      await entryOf(scanners, scanner).select(input, signal)
      connections.set(scanner, { input, atUs: clock.now().monoUs })
      switched = true
    }
    return switched
  }

  /**
   * Brings the current down on the old path before a thermometer is connected that bears less: a thermistor given the
   * current of a platinum thermometer is heated by kelvins. The reading this takes is kept and marked.
   */
  async #lowerFirst(currentMa: number, signal: AbortSignal): Promise<boolean> {
    const old = this.#connected
    if (!old || this.#path === '' || this.#currentMa === undefined || currentMa >= this.#currentMa)
      return false
    const measured = await this.meter.measure({ input: old.input, currentMa, average: 1, signal })
    this.#hold({ channel: old, measured, currentMa, discarded: true, stop: undefined })
    return true
  }

  /** One measurement that closes a contact or sets a current; it is kept and does not count. */
  async #discard(channel: Channel, currentMa: number, signal: AbortSignal): Promise<void> {
    const measured = await this.#measure(channel, currentMa, signal)
    this.#hold({ channel, measured, currentMa, discarded: true, stop: undefined })
  }

  #missed(channel: Channel, cause: string): void {
    this.#holding.release()
    this.#options.intake.missed(channel, this.#options.clock.now(), this.meter.unit, cause)
  }

  /** Nobody knows what current flowed, and it may have been another channel's, larger than this one bears. */
  #maybeHeated(currentMa: number): boolean {
    return this.#currentMa === undefined && this.channels.some((c) => c.currentMa > 1.5 * currentMa)
  }

  #hold(held: Held<LaneStop>): void {
    this.#holding.put(held, holdMs(held.measured, this.#usualMs))
  }

  async #measure(channel: Channel, currentMa: number, signal: AbortSignal): Promise<Measured> {
    const fromUs = this.#options.clock.now().monoUs
    const measured = await this.meter.measure({
      input: channel.input,
      currentMa,
      average: channel.average,
      ...(channel.range !== undefined && { range: channel.range }),
      signal,
    })
    if (measured.value !== undefined) {
      this.#heardUs = this.#options.clock.now().monoUs
      this.#usualMs = Math.max((measured.at.monoUs - fromUs) / 1000, USUAL_KEEPS * this.#usualMs)
    }
    return measured
  }

  /** Sets the keep-warm currents of waiting inputs, once and again after their instrument was lost. */
  async #keepWarm(signal: AbortSignal): Promise<void> {
    const wanting = this.channels.filter((c) => c.keepWarmMa !== undefined)
    const holders = new Set(wanting.map((c) => this.#holder(c)))
    for (const holder of holders) {
      if (this.#warm.has(holder.id) || holder.status.state !== 'ready') continue
      for (const channel of wanting) {
        if (this.#holder(channel) !== holder) continue
        signal.throwIfAborted()
        await holder.keepWarm?.(channel.route.at(-1)?.input ?? channel.input, channel.keepWarmMa!)
      }
      this.#warm.add(holder.id)
    }
  }

  /** What supplies a channel's keep-warm current: the scanner next to it, or the meter. */
  #holder(channel: Channel): Meter | Scanner {
    const last = channel.route.at(-1)
    return (last && this.#options.scanners.get(last.scanner)) ?? this.meter
  }

  async #enter(channel: Channel): Promise<() => void> {
    // Always in the same order, so that two lanes never wait for each other.
    const ids = [...new Set(channel.route.map((r) => r.scanner))].sort()
    const leaves: (() => void)[] = []
    for (const id of ids) leaves.push(await entryOf(this.#options.turnstiles, id).enter())
    return () => {
      for (const leave of leaves.reverse()) leave()
    }
  }

  /** Sleeps, but not past a job or the end. */
  async #pause(ms: number): Promise<void> {
    if (this.#job || this.#ended.signal.aborted) return
    await new Promise<void>((resolve) => {
      const timer = this.#options.clock.after(ms, () => {
        this.#wake = undefined
        resolve()
      })
      this.#wake = () => {
        timer.dispose()
        this.#wake = undefined
        resolve()
      }
    })
  }
}
