import type { Clock } from '../../../app/base/clock.ts'
import { said } from '../../../app/messages/said.ts'
import type { BenchState } from '../../../app/records/bench-state.ts'
import { StoreError } from '../errors.ts'
import type { StationStore } from '../station-store.ts'
import type { Connection } from './connection.ts'
import { BenchBoard, type OtherBench } from './exchange-benches.ts'
import { fillStock, tellNumbers, twiceGiven } from './exchange-numbers.ts'
import { PaperExchange } from './exchange-papers.ts'
import { PLAIN_HANDS, SessionExchange, type SessionHands } from './exchange-sessions.ts'
import { pullVersions, pushVersions, wasSetBack } from './exchange-versions.ts'
import { LaboratoryError } from './laboratory-error.ts'
import { LocalCopy } from './local-copy.ts'

/** Two looks at what is to be exchanged are at least this far apart, ms. */
const BREATH_MS = 250
/** A bench tells how it stands no more often than this, ms. */
const TELL_MS = 1_000
/** Looked for at least this often, also where nobody has told of anything, ms. */
const LOOK_MS = 30_000
const FIRST_RETRY_MS = 500
const LONGEST_RETRY_MS = 30_000
/** How long the exchange under way is waited for at the end. */
const PARTING_MS = 1_500
/** A clock that is wrong by more than this is told of, us. */
const CLOCK_LIMIT_US = 120e6

export interface ExchangeState {
  state: 'connecting' | 'up-to-date' | 'away' | 'refused'
  words: string
  /** What is wrong although versions are exchanged, in words: a clock that is wrong. */
  troubles: readonly string[]
}

export interface ExchangeParts {
  readonly store: StationStore
  readonly url: string
  readonly clock: Clock
  /** What this station takes for the time, us of UTC, where that is another clock. */
  readonly utcUs?: () => number
  /** What people call this bench. */
  readonly name: () => string
  /** How this bench stands. */
  readonly bench?: () => BenchState
  /** How session files are copied, looked through and replaced; here and now where nobody measures beside. */
  readonly hands?: SessionHands
  /** How the laboratory numbers its certificates. */
  readonly pattern: () => string | undefined
  /** Something of others has come in. */
  readonly onDidTake?: (what: 'records' | 'benches' | 'sessions') => void
  readonly onDidChange?: () => void
}

/**
 * Exchanges what this station has with its laboratory's database: what is new here goes there, what is new there comes here.
 * Where the database is away the station works on, and it is tried again for ever; nothing here holds up recording.
 */
export class Exchange {
  readonly #p: ExchangeParts
  readonly #local: LocalCopy
  readonly #stop = new AbortController()
  readonly #board: BenchBoard
  readonly #sessions: SessionExchange
  readonly #papers: PaperExchange
  /** Sessions of other benches that somebody waits for. */
  readonly #wanted: { id: string; done: () => void; failed: (fault: unknown) => void }[] = []
  #connection: Connection | undefined
  /** Moment of the monotonic clock at which the bench last told how it stands, ms. */
  #toldMs = Number.NEGATIVE_INFINITY
  #wake: (() => void) | undefined
  /** What there is to do: another station has told of something, or it is time to look. */
  #heard = true
  #woken = false
  #saved = true
  readonly #running: Promise<void>
  #state: ExchangeState = { state: 'connecting', words: 'Connecting to the laboratory.', troubles: [] }

  constructor(parts: ExchangeParts) {
    this.#p = parts
    this.#local = new LocalCopy(parts.store)
    this.#papers = new PaperExchange(this.#local)
    this.#sessions = new SessionExchange(this.#local, parts.hands ?? PLAIN_HANDS, this.#papers)
    this.#board = new BenchBoard(this.#local, () => this.#monoMs() / 1000)
    this.#running = this.#run()
  }

  get state(): ExchangeState {
    return this.#state
  }

  /** The other benches, as they were last heard of. */
  get benches(): OtherBench[] {
    return this.#board.others
  }

  /** To be called when something was saved here. */
  wake(): void {
    this.#saved = true
    this.stir()
  }

  /** To be called when the bench may stand otherwise, and nothing was saved. */
  stir(): void {
    this.#woken = true
    this.#wake?.()
  }

  /** Brings the file of a session of another bench here, verified. Throws StoreError where that cannot be. */
  bring(id: string): Promise<void> {
    if (this.#state.state !== 'up-to-date')
      throw new StoreError('refused', said('session-not-here-yet', { id, state: this.#state.words }), { id })
    return new Promise((done, failed) => {
      this.#wanted.push({ id, done, failed })
      this.stir()
    })
  }

  /** Ends after what is under way, but waits no longer for it than a moment: it comes again. */
  async close(): Promise<void> {
    this.#stop.abort()
    this.wake()
    const patience = setTimeout(() => this.#connection?.abandon(), PARTING_MS)
    await this.#running
    clearTimeout(patience)
  }

  async #run(): Promise<void> {
    // Brings the database's client, which most stations never need.
    const { Connection } = await import('./connection.ts')
    let retryMs = FIRST_RETRY_MS
    while (!this.#stop.signal.aborted) {
      const connection = new Connection(this.#p.url)
      this.#connection = connection
      try {
        await connection.open(this.#local, this.#p.name(), () => this.#utcUs())
        retryMs = FIRST_RETRY_MS
        await this.#exchange(connection)
      } catch (fault) {
        this.#tell(stateOf(fault, retryMs))
      }
      connection.onBroken = () => undefined
      for (const { id, failed } of this.#wanted.splice(0))
        failed(
          new StoreError('refused', said('session-not-brought', { id, state: this.#state.words }), { id }),
        )
      await this.#letGo(connection)
      if (this.#stop.signal.aborted) return
      await this.#rest(retryMs)
      retryMs = Math.min(2 * retryMs, LONGEST_RETRY_MS)
    }
  }

  async #exchange(connection: Connection): Promise<void> {
    let broken = false
    connection.onBroken = () => {
      broken = true
      this.stir()
    }
    connection.onNotice = (text) => {
      if (text.startsWith(BENCH) && this.#board.hear(text.slice(BENCH.length))) {
        this.#p.onDidTake?.('benches')
        return
      }
      this.#heard = true
      this.stir()
    }
    this.#board.forget()
    this.#papers.begin()
    if (await wasSetBack(connection, this.#local)) this.#local.beginAgain()
    this.#heard = true
    this.#saved = true
    while (!this.#stop.signal.aborted) {
      if (broken) throw new Error('the connection was broken')
      this.#woken = false
      await this.#pass(connection)
      this.#tell({
        state: 'up-to-date',
        words: "What this station has and what the laboratory's database has is the same.",
        troubles: [
          ...clockTroubles(connection.clockAheadUs),
          ...twiceGiven(this.#local),
          ...this.#sessions.troubles,
          ...this.#papers.troubles,
        ],
      })
      await this.#rest(BREATH_MS)
      if (!this.#woken && !(await this.#wakened())) {
        this.#heard = true
        this.#saved = true
        await connection.readClock(() => this.#utcUs())
      }
    }
  }

  /** One look at both sides. */
  async #pass(connection: Connection): Promise<void> {
    if (this.#saved) {
      this.#saved = false
      try {
        await this.#push(connection)
      } catch (fault) {
        this.#saved = true
        throw fault
      }
    }
    await this.#bringWanted(connection)
    await this.#tellBench(connection)
    if (!this.#heard) return
    this.#heard = false
    try {
      await this.#board.look(connection)
      this.#p.onDidTake?.('benches')
      if ((await pullVersions(connection, this.#local)) > 0) {
        this.#p.onDidTake?.('records')
        // The series of numbers may have changed with the settings of the laboratory.
        this.wake()
      }
      if ((await this.#sessions.pull(connection)) > 0) this.#p.onDidTake?.('sessions')
      await this.#papers.pull(connection)
    } catch (fault) {
      this.#heard = true
      throw fault
    }
  }

  async #push(connection: Connection): Promise<void> {
    await pushVersions(connection, this.#local)
    await tellNumbers(connection, this.#local)
    const pattern = this.#p.pattern()
    if (pattern !== undefined) await fillStock(connection, this.#local, pattern, this.#utcUs())
    await this.#sessions.push(connection)
    await this.#papers.push(connection)
  }

  async #bringWanted(connection: Connection): Promise<void> {
    for (const wanted of this.#wanted.splice(0)) {
      try {
        await this.#sessions.fetch(connection, wanted.id)
        wanted.done()
      } catch (fault) {
        wanted.failed(fault)
        if (!(fault instanceof StoreError)) throw fault
      }
    }
  }

  async #tellBench(connection: Connection): Promise<void> {
    const { bench, name } = this.#p
    if (!bench || this.#monoMs() - this.#toldMs < TELL_MS) return
    this.#toldMs = this.#monoMs()
    await this.#board.tell(connection, name(), bench())
  }

  #utcUs(): number {
    return (this.#p.utcUs ?? (() => this.#p.clock.now().utcUs))()
  }

  #monoMs(): number {
    return this.#p.clock.now().monoUs / 1000
  }

  #tell(state: ExchangeState): void {
    const changed = JSON.stringify(state) !== JSON.stringify(this.#state)
    this.#state = state
    if (changed) this.#p.onDidChange?.()
  }

  async #letGo(connection: Connection): Promise<void> {
    const patience = setTimeout(() => connection.abandon(), PARTING_MS)
    await connection.close()
    clearTimeout(patience)
  }

  /** Waits until somebody wakes it, or it is time to look; false where it is time. */
  async #wakened(): Promise<boolean> {
    const waiting = new AbortController()
    const woken = new Promise<boolean>((resolve) => {
      this.#wake = () => resolve(true)
    })
    const time = this.#p.clock.sleep(LOOK_MS, waiting.signal).then(
      () => false,
      () => true,
    )
    const first = await Promise.race([woken, time])
    this.#wake = undefined
    waiting.abort()
    return first
  }

  async #rest(ms: number): Promise<void> {
    try {
      await this.#p.clock.sleep(ms, this.#stop.signal)
    } catch (fault) {
      if (!this.#stop.signal.aborted) throw fault
    }
  }
}

/** Before a notification of how a bench stands. */
const BENCH = 'bench '

function stateOf(fault: unknown, retryMs: number): ExchangeState {
  if (fault instanceof LaboratoryError) return { state: 'refused', words: fault.message, troubles: [] }
  const why =
    fault instanceof Error ? fault.message || String((fault as { code?: unknown }).code) : String(fault)
  const words = `The laboratory's database is away (${why}). This station works on by itself and catches up; it tries again in ${retryMs / 1000} s.`
  return { state: 'away', words, troubles: [] }
}

function clockTroubles(aheadUs: number): string[] {
  if (Math.abs(aheadUs) <= CLOCK_LIMIT_US) return []
  const minutes = Math.round(Math.abs(aheadUs) / 60e6)
  return [
    `The clock of this station is ${minutes} min ${aheadUs > 0 ? 'behind' : 'ahead of'} the one of the laboratory's database. Set this computer's clock by a time server: what is saved here carries a wrong time.`,
  ]
}
