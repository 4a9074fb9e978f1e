import type { Clock } from '../../../app/base/clock.ts'
import { asStoreError, StoreError } from '../errors.ts'
import { openSessionFile, type SessionFile } from '../session-file.ts'
import type { Outbox, Sent } from './outbox.ts'
import type { ForwardTarget, Parcel } from './target.ts'

/** Readings sent in one go. */
const PARCEL = 1000
const FIRST_RETRY_MS = 500
const LONGEST_RETRY_MS = 60_000

export interface ForwardState {
  state: 'up-to-date' | 'sending' | 'waiting'
  /** Readings not sent yet. */
  behind: number
  words: string
}

interface Followed {
  path: string
  file: SessionFile | undefined
}

/**
 * Sends sessions on as they are committed, each reading once. Where the other side is away, the outbox waits and it is
 * tried again, less and less often, for ever; nothing here ever holds up recording.
 */
export class Forwarder {
  readonly #outbox: Outbox
  readonly #target: ForwardTarget
  readonly #clock: Clock
  readonly #followed = new Map<string, Followed>()
  /** Sessions that could not be read, and why. */
  readonly #unreadable = new Map<string, string>()
  readonly #stop = new AbortController()
  #wake: (() => void) | undefined
  #woken = false
  #running: Promise<void>
  #state: ForwardState = { state: 'up-to-date', behind: 0, words: 'Nothing to send yet.' }

  constructor({ outbox, target, clock }: { outbox: Outbox; target: ForwardTarget; clock: Clock }) {
    this.#outbox = outbox
    this.#target = target
    this.#clock = clock
    this.#running = this.#run()
  }

  get state(): ForwardState {
    return this.#state
  }

  /** Sends this session from where it was left, and goes on with what is committed. */
  follow(id: string, path: string): void {
    this.#unreadable.delete(id)
    if (!this.#followed.has(id)) this.#followed.set(id, { path, file: undefined })
    this.wake()
  }

  /** To be called when something was committed. */
  wake(): void {
    this.#woken = true
    this.#wake?.()
  }

  /** Ends after the parcel that is under way. */
  async close(): Promise<void> {
    this.#stop.abort()
    this.wake()
    await this.#running
    for (const { file } of this.#followed.values()) file?.close()
    await this.#target.close()
  }

  async #run(): Promise<void> {
    let retryMs = FIRST_RETRY_MS
    while (!this.#stop.signal.aborted) {
      try {
        const sent = await this.#sendOne()
        retryMs = FIRST_RETRY_MS
        if (!sent) {
          const words = ['Everything was sent.', ...this.#unreadable.values()].join(' ')
          this.#state = { state: 'up-to-date', behind: 0, words }
          await this.#sleep()
        }
      } catch (fault) {
        const why = fault instanceof Error ? fault.message : String(fault)
        const words = `The other side did not take it (${why}); trying again in ${retryMs / 1000} s. Nothing is lost.`
        this.#state = { state: 'waiting', behind: this.#behind(), words }
        // Woken or not, the other side gets its rest.
        await this.#rest(retryMs)
        retryMs = Math.min(2 * retryMs, LONGEST_RETRY_MS)
      }
    }
  }

  /** Sends a parcel of the first session that has something left; false where none has. */
  async #sendOne(): Promise<boolean> {
    for (const [id, followed] of this.#followed) {
      const from = this.#outbox.sent(id)
      const parcel = this.#pack(id, followed, from)
      if (!parcel) continue
      const { readings, events, points } = parcel
      this.#state = { state: 'sending', behind: this.#behind(), words: `Sending session ${id}.` }
      await this.#target.send(parcel)
      this.#outbox.mark(id, {
        seq: readings.at(-1)?.seq ?? from.seq,
        event: events.at(-1)?.n ?? from.event,
        point: points.at(-1)?.n ?? from.point,
      })
      return true
    }
    return false
  }

  /** What is left to send of a session. One that has ended and has nothing left, or cannot be read, is let go. */
  #pack(id: string, followed: Followed, from: Sent): Parcel | undefined {
    try {
      followed.file ??= openSessionFile(followed.path, { mode: 'read' })
      const { file } = followed
      const readings = file.since(from.seq, PARCEL)
      const events = file.events({ after: from.event, most: PARCEL })
      const points = file
        .points()
        .slice(from.point)
        .map((point, i) => ({ n: from.point + 1 + i, point }))
      const parcel: Parcel = { session: file.info, readings, events, points }
      if (readings.length + events.length + points.length > 0) return parcel
      if (parcel.session.ending !== null) this.#letGo(id, followed)
      return undefined
    } catch (fault) {
      const known = asStoreError(fault, followed.path)
      if (!(known instanceof StoreError)) throw known
      // The others are not held up by it; its mark stays, so that it goes on when it can be read again.
      this.#unreadable.set(id, known.message)
      this.#letGo(id, followed)
      return undefined
    }
  }

  #letGo(id: string, { file }: Followed): void {
    file?.close()
    this.#followed.delete(id)
  }

  #behind(): number {
    let behind = 0
    for (const [id, { file }] of this.#followed) if (file) behind += file.lastSeq - this.#outbox.sent(id).seq
    return behind
  }

  async #sleep(): Promise<void> {
    if (!this.#woken)
      await new Promise<void>((resolve) => {
        this.#wake = resolve
      })
    this.#wake = undefined
    this.#woken = false
  }

  async #rest(ms: number): Promise<void> {
    try {
      await this.#clock.sleep(ms, this.#stop.signal)
    } catch (fault) {
      if (!this.#stop.signal.aborted) throw fault
    }
  }
}
