import type { Clock } from '../../../app/base/clock.ts'
import { asStoreError, StoreError } from '../errors.ts'
import { openSessionFile, type SessionFile } from '../session-file.ts'
import type { Outbox } from './outbox.ts'
import { stationOf } from './station-of.ts'
import { type ForwardTarget, OtherRecord, type Parcel, type Reach } from './target.ts'

/** Readings sent in one go. */
const PARCEL = 1000
const FIRST_RETRY_MS = 500
const LONGEST_RETRY_MS = 60_000
/** How long the parcel under way is waited for at the end; after that the other side counts as frozen. */
const PARTING_MS = 1_500

export interface ForwardState {
  state: 'up-to-date' | 'sending' | 'waiting' | 'refused'
  /** Readings not sent yet. */
  behind: number
  words: string
}

interface Followed {
  readonly path: string
  file: SessionFile | undefined
  /** Up to where the other side has counted what it has. */
  counted: Reach
  /** Whether it was sent once more because the other side had less than was sent. */
  again: boolean
}

const NOTHING: Reach = { seq: 0, event: 0, point: 0 }

/**
 * Sends sessions on as they are committed, each reading once, and has the other side count them. Where it is away, the
 * outbox waits and it is tried again, less and less often, for ever; nothing here ever holds up recording.
 */
export class Forwarder {
  readonly #outbox: Outbox
  readonly #target: ForwardTarget
  readonly #clock: Clock
  #followed = new Map<string, Followed>()
  /** Sessions that could not be read, and why. */
  readonly #unreadable = new Map<string, string>()
  /** Sessions that are not taken over there, and why. */
  readonly #refused = new Map<string, string>()
  readonly #stop = new AbortController()
  #wake: (() => void) | undefined
  #woken = false
  readonly #running: Promise<void>
  #state: ForwardState = { state: 'up-to-date', behind: 0, words: 'Nothing to send yet.' }
  /** Readings that the other side has counted since it was begun. */
  #confirmed = 0
  #cannotCount = false
  /** Whether there was ever anything to send. */
  #begun = false

  constructor({ outbox, target, clock }: { outbox: Outbox; target: ForwardTarget; clock: Clock }) {
    this.#outbox = outbox
    this.#target = target
    this.#clock = clock
    this.#running = this.#run()
  }

  get state(): ForwardState {
    return this.#state
  }

  /** Sends this session from where it was left, and goes on with what is committed. `first`: before all others. */
  follow(id: string, path: string, first = false): void {
    this.#unreadable.delete(id)
    this.#refused.delete(id)
    const known = this.#followed.get(id)
    const followed = known ?? { path, file: undefined, counted: NOTHING, again: false }
    if (first) this.#followed = new Map([[id, followed], ...this.#followed])
    else if (!known) this.#followed.set(id, followed)
    this.wake()
  }

  /** To be called when something was committed. */
  wake(): void {
    this.#woken = true
    this.#wake?.()
  }

  /** Ends after the parcel that is under way, but waits no longer for it than a moment: it comes again. */
  async close(): Promise<void> {
    this.#stop.abort()
    this.wake()
    const patience = new AbortController()
    const parted = this.#clock.sleep(PARTING_MS, patience.signal).then(
      () => this.#target.abandon(),
      () => undefined,
    )
    await this.#running
    for (const { file } of this.#followed.values()) file?.close()
    await this.#target.close()
    patience.abort()
    await parted
  }

  async #run(): Promise<void> {
    let retryMs = FIRST_RETRY_MS
    while (!this.#stop.signal.aborted) {
      try {
        const busy = await this.#sendOne()
        retryMs = FIRST_RETRY_MS
        if (!busy) {
          if (this.#begun) this.#state = this.#allSent()
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

  #allSent(): ForwardState {
    const said = this.#cannotCount
      ? 'Everything was sent; the other side has acknowledged each message.'
      : `Everything was sent; the other side has counted it, ${this.#confirmed} readings since sending began.`
    const words = [...this.#refused.values(), said, ...this.#unreadable.values()].join(' ')
    return { state: this.#refused.size > 0 ? 'refused' : 'up-to-date', behind: 0, words }
  }

  /** Sends a parcel of the first session that has something left, or has one counted; false where none has. */
  async #sendOne(): Promise<boolean> {
    for (const [id, followed] of this.#followed) {
      this.#begun = true
      const from = this.#outbox.sent(id)
      const parcel = this.#pack(id, followed, from)
      if (!parcel) continue
      const { readings, events, points } = parcel
      try {
        if (readings.length + events.length + points.length === 0) {
          if (await this.#countUp(id, followed, parcel, from)) return true
          continue
        }
        this.#state = { state: 'sending', behind: this.#behind(), words: `Sending session ${id}.` }
        await this.#target.send(parcel)
      } catch (fault) {
        if (!(fault instanceof OtherRecord)) throw fault
        this.#refuse(id, followed, fault.message)
        return true
      }
      this.#outbox.mark(id, {
        seq: readings.at(-1)?.seq ?? from.seq,
        event: events.at(-1)?.n ?? from.event,
        point: points.at(-1)?.n ?? from.point,
      })
      return true
    }
    return false
  }

  /** Has the other side count what was sent since it last did; true where something is left to do for this session. */
  async #countUp(
    id: string,
    followed: Followed,
    { station, session }: Parcel,
    upTo: Reach,
  ): Promise<boolean> {
    const { counted: after } = followed
    const isNew = upTo.seq > after.seq || upTo.event > after.event || upTo.point > after.point
    if (isNew) {
      const has = await this.#target.count({ station, session: id, after, upTo })
      this.#cannotCount = has === undefined
      if (has) {
        const lacks = missing(has, after, upTo)
        if (lacks !== 'nothing') return this.#recount(id, followed, lacks)
      }
      this.#confirmed += upTo.seq - after.seq
      followed.counted = upTo
      followed.again = false
    }
    if (session.ending === null) return false
    this.#outbox.mark(id, upTo, true)
    this.#letGo(id, followed)
    return true
  }

  /** The other side has less than was sent: it is sent once more. Where that does not help, or it has more, it is told. */
  #recount(id: string, followed: Followed, lacks: string): true {
    if (followed.again) {
      this.#refuse(
        id,
        followed,
        `Session ${id} was sent twice, and the other side still ${lacks}. Look into its archive.`,
      )
      return true
    }
    followed.again = true
    followed.counted = NOTHING
    this.#outbox.mark(id, NOTHING)
    return true
  }

  #refuse(id: string, followed: Followed, words: string): void {
    this.#refused.set(id, words)
    this.#letGo(id, followed)
  }

  /** What is left to send of a session, and may be nothing. One that cannot be read is let go. */
  #pack(id: string, followed: Followed, from: Reach): Parcel | undefined {
    try {
      followed.file ??= openSessionFile(followed.path, { mode: 'read' })
      const { file } = followed
      const readings = file.since(from.seq, PARCEL)
      const events = file.events({ after: from.event, most: PARCEL })
      const points = file
        .points()
        .slice(from.point)
        .map((point, i) => ({ n: from.point + 1 + i, point }))
      return { station: stationOf(file), session: file.info, readings, events, points }
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

/** What the other side lacks or has too much of a part, in words; 'nothing' where it has it. */
function missing(has: Reach, after: Reach, upTo: Reach): string {
  const differences = (['seq', 'event', 'point'] as const).flatMap((what) => {
    const sent = upTo[what] - after[what]
    return has[what] === sent ? [] : [`has ${has[what]} of ${sent} ${NAMES[what]}`]
  })
  return differences.length === 0 ? 'nothing' : differences.join(', ')
}

const NAMES = { seq: 'readings', event: 'events', point: 'points' } as const
