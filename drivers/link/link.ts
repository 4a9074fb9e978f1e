import type { Clock, Disposable, StopSignal } from '../../app/base/clock.ts'
import { saidBy } from '../../app/base/coded-error.ts'
import {
  type Identity,
  InstrumentError,
  type InstrumentErrorCode,
  type LinkState,
  type LinkStatus,
} from '../../app/instruments/faces.ts'
import { asTold, type Said, said } from '../../app/messages/said.ts'
import { backoffMs } from './backoff.ts'
import { type Aside, Conversation } from './conversation.ts'
import type { Pace } from './exchange.ts'
import type { Framing } from './framer.ts'
import { ServiceRequests } from './service-requests.ts'
import { Traffic } from './traffic.ts'
import { type Cleared, type Connect, type Wire, WireFault } from './wire.ts'

export interface LinkOptions {
  /** The instrument's name on the bench, for sentences. */
  readonly name: string
  readonly clock: Clock
  readonly connect: Connect
  readonly framing: Framing
  readonly pace: Pace
  /** Quiet time that counts as the end of what was left over in the instrument or the line. */
  readonly quietMs: number
  /** Asks who is there and makes the instrument ready; throws an InstrumentError when it is not the one expected. */
  readonly identify: (talk: Conversation) => Promise<Identity>
  /** After a fault: asks something recognisable; whether the answer came. */
  readonly recover: (talk: Conversation) => Promise<boolean>
  readonly random: () => number
  /** The answer before this moment may have been to an earlier question. */
  readonly onDoubt?: () => void
  /** Claims lines that may come at any time. */
  readonly aside?: Aside | undefined
  /** Asks something after this long without an exchange, so that a dead connection is noticed; absent: never. */
  readonly idleMs?: number | undefined
}

interface Waiting {
  readonly start: () => void
  readonly refuse: (error: InstrumentError) => void
}

/**
 * The connection to one instrument and its queue. Tasks run one after another, each alone on the line. When the wire
 * is lost every waiting task is refused, then a new wire is opened and identified, for ever, with growing pauses.
 */
export class Link {
  readonly traffic = new Traffic()
  readonly #options: LinkOptions
  readonly #clock: Clock
  #wire: Wire | undefined
  #talk: Conversation | undefined
  #identity: Identity | undefined
  #status: LinkStatus
  #noted = ''
  #listeners: ((status: LinkStatus) => void)[] = []
  #queue: Waiting[] = []
  #busy = false
  #attempt = 0
  #stop = new AbortController()
  #reviving = false
  #exchangesBefore = 0
  #faultsBefore = 0
  #readyWaiters = new Set<() => void>()
  #idleTimer: Disposable | undefined
  #ended: () => void = () => {}
  #endedOf: Conversation | undefined
  readonly #requests: ServiceRequests

  constructor(options: LinkOptions) {
    this.#options = options
    this.#clock = options.clock
    this.#requests = new ServiceRequests(this.#clock, this.traffic)
    const idle = said('link-not-opened-yet', {})
    this.#status = {
      state: 'closed',
      words: idle.words,
      said: idle,
      since: this.#clock.now(),
      exchanges: 0,
      faults: 0,
    }
  }

  get identity(): Identity | undefined {
    return this.#identity
  }

  get status(): LinkStatus {
    return {
      ...this.#status,
      exchanges: this.#exchangesBefore + (this.#talk?.exchanges ?? 0),
      faults: this.#faultsBefore + (this.#talk?.faults ?? 0),
    }
  }

  onDidChangeStatus(listener: (status: LinkStatus) => void): Disposable {
    this.#listeners = [...this.#listeners, listener]
    return {
      dispose: () => {
        this.#listeners = this.#listeners.filter((each) => each !== listener)
      },
    }
  }

  /** Connects and identifies. Rejects when the first attempt fails; attempts go on until `close`. */
  async open(signal?: StopSignal): Promise<Identity> {
    if (this.#status.state === 'ready') return this.#identity!
    if (this.#status.state === 'stopped') throw this.#error('stopped', said('link-closed-for-good', {}))
    const first = this.#status.state === 'closed' ? this.#attemptOnce('connecting') : this.#untilReady()
    const aborted = abortOf(signal)
    try {
      return await (aborted === undefined ? first : Promise.race([first, aborted.promise]))
    } finally {
      aborted?.dispose()
    }
  }

  /** For a second caller of `open`: the attempts that go on already are not doubled. */
  async #untilReady(): Promise<Identity> {
    while (this.#status.state !== 'ready') {
      if (this.#status.state === 'stopped') throw this.#notReady()
      await new Promise<void>((resolve) => this.#readyWaiters.add(resolve))
    }
    return this.#identity!
  }

  async close(): Promise<void> {
    if (this.#status.state === 'stopped') return
    this.#stop.abort(this.#error('stopped', said('link-closed-for-good', {})))
    this.#dropWire('closed')
    this.#setState('stopped', said('link-closed', {}))
    this.#refuseAll('stopped', said('link-closed-for-good', {}))
    this.#wakeReadyWaiters()
  }

  /**
   * Runs a task alone on the line, after those that came before it. Rejects with 'lost' when the wire goes before the
   * task has begun; a task that has begun sees the loss in its exchanges.
   */
  run<T>(task: (talk: Conversation) => Promise<T>): Promise<T> {
    const talk = this.#talk
    if (this.#status.state !== 'ready' || talk === undefined) return Promise.reject(this.#notReady())
    if (!this.#busy && !talk.dirty) return this.#execute(task)
    return new Promise<T>((resolve, reject) => {
      this.#queue.push({ start: () => this.#execute(task).then(resolve, reject), refuse: reject })
      if (!this.#busy) this.#next()
    })
  }

  /** Resolves when the link is ready (again), or after `ms` of waiting for it. Keeps callers from spinning while it is lost. */
  async pace(ms: number): Promise<void> {
    if (this.#status.state === 'ready' || this.#status.state === 'stopped') return
    await new Promise<void>((resolve) => {
      const wake = () => {
        timer.dispose()
        this.#readyWaiters.delete(wake)
        resolve()
      }
      const timer = this.#clock.after(Math.max(1, ms), wake)
      this.#readyWaiters.add(wake)
    })
  }

  /** Gives the wire up and starts over, as after a loss. */
  reconnect(why: Said): void {
    if (this.#status.state === 'ready') this.#lose(why)
  }

  /** Begins a task. What comes after its end is hung on its own promise, so that a caller waits for one promise only. */
  #execute<T>(task: (talk: Conversation) => Promise<T>): Promise<T> {
    this.#busy = true
    const running = task(this.#talk!)
    const talk = this.#talk
    const ended = talk === this.#endedOf ? this.#ended : this.#endOf(talk!)
    running.then(ended, ended)
    return running
  }

  /** What follows the end of a task of this conversation; a task of a lost one ends without consequence. */
  #endOf(talk: Conversation): () => void {
    this.#endedOf = talk
    this.#ended = () => {
      if (this.#talk !== talk) return
      this.#busy = false
      if (talk.dirty || this.#queue.length > 0) this.#next()
    }
    return this.#ended
  }

  /** Takes the next task, after clearing the link when the last one left it in doubt. */
  #next(): void {
    const talk = this.#talk
    if (talk === undefined || this.#status.state !== 'ready') return
    if (talk.dirty) {
      this.#busy = true
      this.#setState('ready', said('link-clearing', { doubt: talk.doubt }))
      this.#clear(talk).then((clean) => {
        this.#busy = false
        if (this.#talk !== talk) return
        if (!clean) return this.#lose(said('no-answer-after-fault', {}))
        this.#setState('ready', said('link-ready', {}))
        this.#next()
      })
      return
    }
    this.#queue.shift()?.start()
  }

  async #clear(talk: Conversation): Promise<boolean> {
    const { pace, quietMs, recover } = this.#options
    const cleared = await this.#clearDevice()
    if (cleared === 'failed') return false
    // What was asked before may still be answered: wait as long as that may take, then for silence.
    const longestMs = (cleared === 'done' ? 0 : pace.lateMs) + 20 * quietMs
    if (!(await talk.drain(Math.max(quietMs, pace.gapMs), longestMs))) return false
    if (!(await recover(talk))) return false
    if (!(await talk.drain(quietMs, 4 * quietMs))) return false
    talk.trust()
    return true
  }

  /** Device clear, where the wire has one: after it nothing that was asked before is answered any more. */
  async #clearDevice(): Promise<Cleared> {
    const wire = this.#wire
    if (wire?.clear === undefined) return 'unsupported'
    return wire.clear()
  }

  async #attemptOnce(state: LinkState): Promise<Identity> {
    // What is known of why it is not ready stands until the attempt has told something else.
    this.#setState(
      state,
      state === 'connecting' ? said('link-connecting', {}) : this.#status.said,
      this.#status.cause,
    )
    try {
      const identity = await this.#connectAndIdentify()
      this.#attempt = 0
      this.#noted = ''
      this.#identity = identity
      this.#setState('ready', said('link-ready', {}))
      this.#watchIdle()
      this.#wakeReadyWaiters()
      return identity
    } catch (error) {
      const fault = this.#asInstrumentError(error)
      this.#dropWire(fault.message)
      if (!this.#stop.signal.aborted) this.#retryLater(fault)
      throw fault
    }
  }

  async #connectAndIdentify(): Promise<Identity> {
    const { clock, connect, framing, pace, quietMs, identify } = this.#options
    let talk: Conversation | undefined
    let early: WireFault | undefined
    const wire: Wire = await connect(
      {
        data: (chunk, ended) => talk?.push(chunk, ended),
        note: (words) => this.traffic.tell('note', words, clock.now()),
        serviceRequest: (status) => {
          this.#requests.hear(status)
          talk?.hearRequest()
        },
        closed: (fault) => {
          early = fault
          if (talk === undefined) return
          talk.close(fault.message)
          if (this.#talk === talk && this.#status.state === 'ready') this.#lose(saidBy(fault))
        },
      },
      this.#stop.signal,
    )
    this.#wire = wire
    if (early !== undefined) throw early
    if (this.#stop.signal.aborted) throw this.#stop.signal.reason
    talk = new Conversation(wire, clock, this.traffic, framing, pace, this.#options.aside)
    if (this.#options.onDoubt) talk.hearDoubt(this.#options.onDoubt)
    this.#talk = talk
    this.traffic.tell('note', 'connected', clock.now())
    // Whatever an earlier conversation left in the instrument comes out, or is cleared away, before anything is asked.
    if ((await this.#clearDevice()) === 'failed') {
      throw early ?? this.#error('silent', said('clear-not-acknowledged', {}))
    }
    await talk.drain(quietMs, 40 * quietMs)
    if (early !== undefined) throw early
    talk.trust()
    const identity = await identify(talk)
    if (early !== undefined) throw early
    if (this.#stop.signal.aborted) throw this.#stop.signal.reason
    const known = this.#identity
    const another = known !== undefined && known.raw !== identity.raw
    if (another && (known.serial !== identity.serial || known.serial === '')) {
      throw this.#error(
        'wrong-instrument',
        said('another-instrument-answers', { raw: identity.raw, known: known.raw }),
      )
    }
    return identity
  }

  #retryLater(fault: InstrumentError): void {
    const waitMs = backoffMs(this.#attempt++, this.#options.random)
    const why = said(/\.$/.test(fault.message) ? 'link-trying-again' : 'link-trying-again-stop', {
      fault: saidBy(fault),
    })
    const { words } = why
    // It is tried once a second for as long as it takes: what stays the same is noted once.
    if (words !== this.#noted) this.traffic.tell('note', words, this.#clock.now())
    this.#noted = words
    this.#setState(this.#identity === undefined ? 'connecting' : 'lost', why, fault.code)
    this.#revive(waitMs)
  }

  #revive(waitMs: number): void {
    if (this.#reviving) return
    this.#reviving = true
    this.#clock.sleep(waitMs, this.#stop.signal).then(
      () => {
        this.#reviving = false
        // A failed attempt has already been reported and the next one planned.
        this.#attemptOnce(this.#identity === undefined ? 'connecting' : 'lost').catch(() => undefined)
      },
      () => {
        this.#reviving = false
      },
    )
  }

  #lose(why: Said): void {
    this.#dropWire(why.words)
    this.#refuseAll('lost', why)
    this.#retryLater(this.#error('lost', why))
  }

  #dropWire(words: string): void {
    const talk = this.#talk
    this.#talk = undefined
    this.#idleTimer?.dispose()
    if (talk !== undefined) {
      talk.close(words)
      this.#exchangesBefore += talk.exchanges
      this.#faultsBefore += talk.faults
    }
    this.#wire?.destroy()
    this.#wire = undefined
    this.#busy = false
  }

  #refuseAll(code: InstrumentErrorCode, why: Said): void {
    const waiting = this.#queue
    this.#queue = []
    for (const each of waiting) each.refuse(this.#error(code, why))
  }

  /** Asks something when nothing was asked for a while: a dead connection shows only when it is used. */
  #watchIdle(): void {
    const { idleMs, recover } = this.#options
    const talk = this.#talk
    if (idleMs === undefined || talk === undefined) return
    const before = talk.exchanges
    this.#idleTimer = this.#clock.after(idleMs, () => {
      if (this.#talk !== talk) return
      if (talk.exchanges > before || this.#busy) return this.#watchIdle()
      const asking = this.run(async (line) => {
        if (!(await recover(line))) line.spoil('no answer to the question that keeps the link alive')
      })
      const again = () => {
        if (this.#talk === talk) this.#watchIdle()
      }
      asking.then(again, again)
    })
  }

  #setState(state: LinkState, why: Said, cause?: InstrumentErrorCode): void {
    const changed = state !== this.#status.state
    this.#status = {
      state,
      words: why.words,
      said: why,
      since: changed ? this.#clock.now() : this.#status.since,
      ...(cause !== undefined && { cause }),
      exchanges: 0,
      faults: 0,
    }
    const status = this.status
    for (const listener of this.#listeners) listener(status)
  }

  #wakeReadyWaiters(): void {
    const waiters = this.#readyWaiters
    this.#readyWaiters = new Set()
    for (const wake of waiters) wake()
  }

  #notReady(): InstrumentError {
    const { state, said: why } = this.#status
    if (state === 'stopped') return this.#error('stopped', said('link-closed-for-good', {}))
    if (state === 'closed') return this.#error('not-open', said('link-not-opened', {}))
    return this.#error('lost', why)
  }

  #asInstrumentError(error: unknown): InstrumentError {
    if (error instanceof InstrumentError) return error
    if (error instanceof WireFault) return this.#error(error.code, saidBy(error), error)
    return this.#error('lost', asTold(error instanceof Error ? error.message : String(error)), error)
  }

  #error(code: InstrumentErrorCode, why: Said, cause?: unknown): InstrumentError {
    return new InstrumentError(code, this.#options.name, why, cause === undefined ? undefined : { cause })
  }
}

function abortOf(signal: StopSignal | undefined): { promise: Promise<never>; dispose(): void } | undefined {
  if (signal === undefined) return undefined
  let onAbort = () => {}
  const promise = new Promise<never>((_resolve, reject) => {
    onAbort = () => reject(signal.reason)
    signal.addEventListener('abort', onAbort)
    if (signal.aborted) onAbort()
  })
  return { promise, dispose: () => signal.removeEventListener('abort', onAbort) }
}
