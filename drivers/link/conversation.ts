import type { Clock, Disposable, Instant } from '../../app/base/clock.ts'
import type { Outcome, OutcomeKind, Pace, Request } from './exchange.ts'
import { type FrameListener, Framer, type Framing } from './framer.ts'
import type { Traffic } from './traffic.ts'
import type { Wire } from './wire.ts'

/** A timer that some clocks can start anew more cheaply than make another. */
interface Rearmable extends Disposable {
  readonly refresh?: () => void
}

/** Claims lines that belong to no exchange and may come at any time; they neither end nor disturb one. */
export type Aside = (text: string, at: Instant) => boolean

type Phase = 'idle' | 'waiting' | 'late' | 'done' | 'draining' | 'closed'

const NEVER = Number.POSITIVE_INFINITY

/**
 * Talk with one instrument over one wire, one exchange at a time. It lives and dies with its wire, so nothing that was
 * asked for before a reconnect can be sent after it. After any fault it is dirty and refuses exchanges until
 * `drain` and a recognisable answer have made it clean.
 *
 * A timer stands while an exchange waits, set anew for each: a clock that jumps over quiet time sees by it that something
 * is going on.
 */
export class Conversation implements FrameListener {
  readonly #wire: Wire
  readonly #clock: Clock
  readonly #traffic: Traffic
  readonly #pace: Pace
  readonly #framer: Framer
  readonly #silenceMs: number | undefined
  #phase: Phase = 'idle'
  #dirty = false
  #doubt = ''
  #request: Request | undefined
  #resolve: ((outcome: Outcome) => void) | undefined
  #received = ''
  #replies = 0
  #echoSeen = false
  #spoilt: string | undefined
  #finished = false
  #at: Instant
  #firstUs = NEVER
  #lastEndUs = Number.NEGATIVE_INFINITY
  #timer: Rearmable | undefined
  #timerMs = 0
  #gapUs = 0
  #sentUs = 0
  #tooSoonMs: number | undefined
  #onDoubt: (() => void) | undefined
  #unasked: ((text: string, at: Instant) => boolean) | undefined
  readonly #aside: Aside | undefined
  /** The echo of an order without an answer, which may still come. */
  #strayEcho: string | undefined
  /** Whether all that the last bytes completed was lines that belong to no exchange. */
  #onlyAside = false
  /** Whether service was requested since that was last waited for, and who waits for it. */
  #requested = false
  #onRequest: (() => void) | undefined
  /** Exchanges that ended, well or not, and those that did not end well. */
  exchanges = 0
  faults = 0

  constructor(wire: Wire, clock: Clock, traffic: Traffic, framing: Framing, pace: Pace, aside?: Aside) {
    this.#aside = aside
    this.#wire = wire
    this.#clock = clock
    this.#traffic = traffic
    this.#pace = pace
    this.#silenceMs = framing.end.kind === 'silence' ? framing.end.ms : undefined
    this.#framer = new Framer(framing, this)
    this.#at = clock.now()
  }

  get dirty(): boolean {
    return this.#dirty
  }

  /** Why it is dirty. */
  get doubt(): string {
    return this.#doubt
  }

  get closed(): boolean {
    return this.#phase === 'closed'
  }

  /** Lines that come unasked go here; those it does not claim (by true) put the link in doubt. */
  hearUnasked(listener: (text: string, at: Instant) => boolean): void {
    this.#unasked = listener
  }

  /** Told when what came shows that the last answer may have been to an earlier question than was thought. */
  hearDoubt(listener: () => void): void {
    this.#onDoubt = listener
  }

  /** As `spoil`, where the answer before this moment is in doubt as well. */
  spoilBefore(words: string): void {
    if (this.#phase === 'closed') return
    this.#onDoubt?.()
    this.spoil(words)
  }

  /** Says that the link can no longer be trusted: the next exchange waits for recovery. */
  spoil(words: string): void {
    if (this.#dirty || this.#phase === 'closed') return
    this.#dirty = true
    this.#doubt = words
    this.faults++
    this.#traffic.tell('note', words, this.#clock.now())
  }

  /** Writes a remark beside the traffic. */
  note(words: string): void {
    this.#traffic.tell('note', words, this.#clock.now())
  }

  /** Ends the spoilt state; only after `drain` and a recognisable answer. */
  trust(): void {
    this.#dirty = false
  }

  /** Sends one request and waits for its outcome. Never rejects: a fault is an outcome. */
  exchange(request: Request): Promise<Outcome> {
    // Where lines may come at any time, the beginning of one is no answer that is left over.
    if (
      this.#phase === 'idle' &&
      this.#framer.begun &&
      this.#silenceMs === undefined &&
      this.#aside === undefined
    ) {
      this.spoilBefore('part of an answer came that nobody had asked for')
    }
    if (this.#phase !== 'idle' || (this.#dirty && request.accept === undefined)) return this.#refuse()
    const gapUs = Math.max(this.#gapUs, this.#pace.gapMs * 1000)
    if (gapUs > 0) {
      const waitUs = this.#lastEndUs + gapUs - this.#clock.now().monoUs
      if (waitUs > 0) return this.#afterGap(request, waitUs / 1000)
    }
    return this.#promise(request)
  }

  /**
   * The same, told to a callback while the bytes are handled, for what is asked thousands of times a second. Returns false
   * and does nothing where the exchange cannot begin at once.
   */
  exchangeNow(request: Request, callback: (outcome: Outcome) => void): boolean {
    const waits = this.#gapUs > 0 || this.#pace.gapMs > 0
    if (waits || this.#dirty || this.#phase !== 'idle' || this.#framer.begun || request.replies === 0)
      return false
    this.#send(request, callback)
    return true
  }

  /** Makes the pause before the next command at least this long. */
  pauseBeforeNext(ms: number): void {
    this.#gapUs = Math.max(this.#gapUs, ms * 1000)
  }

  /** The instrument asks for service. */
  hearRequest(): void {
    this.#requested = true
    this.#onRequest?.()
  }

  /** Resolves once service was requested, at once where that was since it was last waited for, or after `ms`. */
  async requestOr(ms: number): Promise<void> {
    if (!this.#requested && this.#phase !== 'closed') {
      await new Promise<void>((resolve) => {
        const timer = this.#clock.after(ms, resolve)
        this.#onRequest = () => {
          timer.dispose()
          resolve()
        }
      })
      this.#onRequest = undefined
    }
    this.#requested = false
  }

  /** Throws away what comes until nothing has come for `quietMs`; false when it does not stop within `longestMs`. */
  async drain(quietMs: number, longestMs: number): Promise<boolean> {
    if (this.#phase !== 'idle') return false
    this.#phase = 'draining'
    const startUs = this.#clock.now().monoUs
    this.#lastEndUs = startUs
    let quiet = false
    for (;;) {
      const nowUs = this.#clock.now().monoUs
      const leftMs = quietMs - (nowUs - this.#lastEndUs) / 1000
      if (leftMs <= 0) {
        quiet = true
        break
      }
      if ((nowUs - startUs) / 1000 > longestMs) break
      await this.#clock.sleep(Math.max(1, leftMs))
      // The wire may end while we wait.
      if ((this.#phase as Phase) === 'closed') return false
    }
    if (this.#framer.begun) {
      const at = this.#clock.now()
      this.#traffic.tell('received', this.#framer.takePending(), at)
      this.#traffic.tell('note', 'thrown away: part of a reply', at)
    }
    this.#phase = 'idle'
    return quiet
  }

  /** The wire is gone: an exchange that waits ends as lost, and nothing is sent any more. */
  close(words: string): void {
    if (this.#phase === 'closed') return
    const waiting = this.#resolve
    const pending = this.#framer.takePending()
    this.#phase = 'closed'
    this.#onRequest?.()
    this.#timer?.dispose()
    this.#timer = undefined
    if (waiting !== undefined) {
      this.#resolve = undefined
      this.exchanges++
      this.faults++
      waiting({ kind: 'lost', text: join(this.#received, pending), at: this.#clock.now(), words })
    }
  }

  /** Bytes from the wire. */
  push(chunk: Uint8Array, ended = false): void {
    if (this.#phase === 'closed') return
    // The end of a message that is taken already.
    if (chunk.length === 0 && !this.#framer.begun) return
    this.#at = this.#clock.now()
    this.#onlyAside = this.#aside !== undefined
    this.#framer.push(chunk, ended)
    const nothing = this.#onlyAside && !this.#framer.begun
    if (this.#phase === 'draining' && !nothing) this.#lastEndUs = this.#at.monoUs
    if (this.#finished) this.#conclude()
    else if (nothing) this.#onAside()
    else if (this.#framer.begun) this.#onPart()
    else if (this.#phase === 'waiting') this.#onPause()
  }

  frame(text: string, token: boolean): void {
    this.#traffic.tell('received', text, this.#at)
    if (!token && this.#aside?.(text, this.#at) === true) return
    if (!token && text === this.#strayEcho) {
      this.#strayEcho = undefined
      if (this.#phase !== 'waiting' || text !== this.#request?.echo) return
    }
    this.#onlyAside = false
    if (this.#finished) {
      this.#spoilt = 'two answers came to one question'
      return
    }
    switch (this.#phase) {
      case 'waiting':
      case 'late':
        this.#onReply(text, token)
        break
      case 'draining':
        this.#traffic.tell('note', 'thrown away: came after its deadline or unasked', this.#at)
        break
      case 'idle':
        // A prompt may greet after power-up; it carries no answer.
        if (!token && this.#unasked?.(text, this.#at) !== true) {
          this.spoilBefore('an answer came that nobody had asked for')
        }
        break
    }
  }

  overflow(): void {
    this.#onlyAside = false
    this.#traffic.tell('note', 'a reply longer than the limit was thrown away', this.#at)
    if (this.#phase === 'waiting' || this.#phase === 'late') {
      this.#spoilt = 'reply longer than the limit: wrong terminator, or wrong baud rate'
      this.#finished = true
    } else if (this.#phase === 'idle') this.spoilBefore('bytes without a terminator came unasked')
  }

  async #afterGap(request: Request, waitMs: number): Promise<Outcome> {
    await this.#clock.sleep(waitMs)
    if (this.#phase !== 'idle' || (this.#dirty && request.accept === undefined)) return this.#refuse()
    return this.#promise(request)
  }

  async #refuse(): Promise<Outcome> {
    const at = this.#clock.now()
    if (this.closed) return { kind: 'lost', text: '', at, words: 'link lost' }
    return {
      kind: 'garbled',
      text: '',
      at,
      words: `${this.#doubt}; nothing more is sent before the link is clear`,
    }
  }

  #promise(request: Request): Promise<Outcome> {
    this.#gapUs = 0
    if (request.trigger === true && this.#wire.trigger !== undefined) {
      const at = this.#clock.now()
      this.#traffic.tell('sent', request.bytes, at)
      this.#traffic.tell('note', "as the bus's own trigger", at)
      this.#wire.trigger(request.bytes)
      return Promise.resolve(this.#sentAt(at))
    }
    const echoed = request.echo !== undefined && request.echoMayFail !== true
    if (request.replies > 0 || request.prompt !== undefined || echoed) {
      return new Promise((resolve) => this.#send(request, resolve))
    }
    const sent = this.#clock.now()
    this.#traffic.tell('sent', request.bytes, sent)
    this.#wire.write(request.bytes)
    this.#strayEcho = request.echo
    return Promise.resolve(this.#sentAt(sent))
  }

  /** An order without an answer has gone out. */
  #sentAt(at: Instant): Outcome {
    this.exchanges++
    this.#lastEndUs = at.monoUs
    return { kind: 'reply', text: '', at }
  }

  #send(request: Request, callback: (outcome: Outcome) => void): void {
    if (this.#traffic.heard) this.#traffic.tell('sent', request.bytes, this.#clock.now())
    this.#phase = 'waiting'
    this.#request = request
    this.#resolve = callback
    this.#received = ''
    this.#replies = 0
    this.#echoSeen = request.echo === undefined
    this.#spoilt = undefined
    this.#tooSoonMs = undefined
    this.#firstUs = NEVER
    if (request.soonestMs !== undefined || this.#aside !== undefined) this.#sentUs = this.#clock.now().monoUs
    this.#arm(request.firstByteMs)
    this.#wire.write(request.bytes, request.firstByteMs + this.#pace.lateMs)
  }

  #onReply(text: string, token: boolean): void {
    const request = this.#request!
    if (this.#isTooSoon(request, token)) {
      this.#received = text
      this.#spoilt = 'an answer came sooner than the instrument can work: it belongs to an earlier question'
      this.#finished = true
      this.#onDoubt?.()
      return
    }
    if (request.accept !== undefined) {
      if (!token && this.#replies === 0 && request.accept(text)) {
        this.#received = text
        this.#replies = 1
        this.#finished = request.prompt === undefined
      } else if (token && text === request.prompt) this.#finished = this.#replies > 0
      else this.#traffic.tell('note', 'passed over: not the answer that was asked for', this.#at)
      return
    }
    if (!this.#echoSeen) {
      this.#echoSeen = true
      const differs = text !== request.echo
      if (differs && request.echoMayFail !== true) {
        this.#received = text
        this.#spoilt = `echo differs from the command: "${text}"`
        this.#finished = true
        return
      }
      if (!differs) {
        this.#finished = request.replies === 0 && request.prompt === undefined
        return
      }
    }
    if (token && text === request.prompt) {
      if (this.#replies < request.replies) this.#spoilt = 'the prompt came before the answer'
      this.#finished = true
      return
    }
    this.#received = this.#replies === 0 ? text : `${this.#received}\n${text}`
    this.#replies++
    if (request.prompt === undefined && this.#replies >= request.replies) this.#finished = true
  }

  #isTooSoon({ soonestMs }: Request, token: boolean): boolean {
    if (soonestMs === undefined || token || !this.#echoSeen) return false
    const afterMs = (this.#at.monoUs - this.#sentUs) / 1000
    if (afterMs >= soonestMs) return false
    this.#tooSoonMs = afterMs
    return true
  }

  /** After a chunk that ended the exchange: what else was in the chunk belongs to no question. */
  #conclude(): void {
    this.#finished = false
    const left = this.#framer.begun && this.#silenceMs === undefined && this.#aside === undefined
    if (left && this.#spoilt === undefined) {
      this.#spoilt = 'more bytes came after the answer'
    }
    const late = this.#phase === 'late'
    if (this.#spoilt !== undefined) this.#end('garbled', this.#spoilt)
    else if (late) this.#end('late', 'the answer came after its deadline')
    else {
      this.#phase = 'idle'
      this.#disarm()
      this.#lastEndUs = this.#at.monoUs
      this.exchanges++
      const resolve = this.#resolve!
      this.#resolve = undefined
      resolve({ kind: 'reply', text: this.#received, at: this.#at })
    }
  }

  #end(kind: Exclude<OutcomeKind, 'reply' | 'lost'>, words: string): void {
    this.#phase = 'idle'
    this.#disarm()
    this.#lastEndUs = this.#at.monoUs
    this.exchanges++
    this.faults++
    this.#dirty = true
    this.#doubt = words
    this.#traffic.tell('note', words, this.#at)
    const resolve = this.#resolve!
    this.#resolve = undefined
    const tooSoonMs = this.#tooSoonMs
    resolve({
      kind,
      text: this.#received,
      at: this.#at,
      words,
      ...(tooSoonMs !== undefined && { tooSoonMs }),
    })
  }

  /** Part of a reply is there: the next byte has its own, shorter deadline, within that of the whole reply. */
  #onPart(): void {
    if (this.#silenceMs !== undefined) this.#arm(this.#silenceMs)
    else if (this.#phase === 'waiting') this.#arm(Math.min(this.#wholeLeftMs(), this.#pace.interByteMs))
  }

  /** A line beside the exchange came: the answer has the time that it had. */
  #onAside(): void {
    if (this.#phase !== 'waiting' || this.#received !== '') return
    this.#firstUs = NEVER
    this.#arm(this.#request!.firstByteMs - (this.#at.monoUs - this.#sentUs) / 1000)
  }

  /** The echo or one of several replies is there: what is still to come has the time of the whole reply. */
  #onPause(): void {
    if (this.#request!.accept === undefined) this.#arm(this.#wholeLeftMs())
  }

  #wholeLeftMs(): number {
    if (this.#firstUs === NEVER) this.#firstUs = this.#at.monoUs
    return this.#request!.replyMs - (this.#at.monoUs - this.#firstUs) / 1000
  }

  #arm(waitMs: number): void {
    const timer = this.#timer
    if (timer?.refresh !== undefined && waitMs === this.#timerMs) {
      timer.refresh()
      return
    }
    timer?.dispose()
    this.#timerMs = waitMs
    this.#timer = this.#clock.after(Math.max(waitMs, 1), this.#onTimer)
  }

  /** A timer that can be started anew is left for the next exchange; it finds nothing due when it fires. */
  #disarm(): void {
    if (this.#timer?.refresh !== undefined) return
    this.#timer?.dispose()
    this.#timer = undefined
  }

  readonly #onTimer = (): void => {
    this.#timer = undefined
    if (this.#phase === 'waiting' || this.#phase === 'late' || this.#silenceMs !== undefined) {
      this.#onDue(this.#clock.now())
    }
  }

  #onDue(now: Instant): void {
    this.#at = now
    if (this.#silenceMs !== undefined && this.#framer.begun) {
      this.#framer.flush()
      if (this.#finished) this.#conclude()
      return
    }
    if (this.#phase === 'waiting') {
      if (this.#framer.begun || this.#received !== '') {
        this.#received = join(this.#received, this.#framer.takePending())
        this.#traffic.tell('received', this.#received, now)
        this.#end('garbled', 'the reply broke off before its terminator')
      } else {
        this.#phase = 'late'
        this.#arm(this.#pace.lateMs)
      }
    } else if (this.#phase === 'late') {
      this.#received = join(this.#received, this.#framer.takePending())
      if (this.#received !== '') this.#end('garbled', 'part of an answer came after the deadline')
      else this.#end('silent', `no answer within ${this.#request!.firstByteMs} ms`)
    }
  }
}

function join(received: string, part: string): string {
  return received === '' ? part : part === '' ? received : `${received}\n${part}`
}
