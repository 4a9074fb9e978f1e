import { type Said, said } from '../../../app/messages/said.ts'
import { GATE_LIMITS, type Group, type GroupLimits } from './limits.ts'

/** Pieces of heavy work done at the same time. */
const AT_ONCE = 2

interface Waiting {
  readonly owner: object
  readonly group: Group
  begin(): void
}

/**
 * The queue before what is worked out in threads: reports, comparisons, replays, previews. Whoever finds it full is told at
 * once, with words; a group never fills the places of the other.
 */
export class HeavyWork {
  readonly #limits: Readonly<Record<Group, GroupLimits>>
  readonly #waiting: Waiting[] = []
  #running = 0

  constructor(limits: Readonly<Record<Group, GroupLimits>> = GATE_LIMITS) {
    this.#limits = limits
  }

  /**
   * Resolves with a function that tells of the end when it is this piece's turn. Rejects with `refuse(why)` where too many
   * wait, and with the signal's reason where it is no longer wanted.
   */
  async enter(
    owner: object,
    group: Group,
    signal: AbortSignal | undefined,
    refuse: (why: Said) => never,
  ): Promise<() => void> {
    signal?.throwIfAborted()
    if (this.#running >= AT_ONCE) {
      const { heavy, heavyEach } = this.#limits[group]
      const ofGroup = this.#waiting.filter((one) => one.group === group)
      const own = ofGroup.filter((one) => one.owner === owner).length
      if (own >= heavyEach) refuse(said('window-waits-already', { own }))
      if (ofGroup.length >= heavy) refuse(said('heavy-work-waits', { waiting: ofGroup.length }))
      // Whoever ends hands its place over.
      await this.#turn(owner, group, signal)
    } else this.#running += 1
    let ended = false
    return () => {
      if (ended) return
      ended = true
      const next = this.#waiting.shift()
      if (next) next.begin()
      else this.#running -= 1
    }
  }

  #turn(owner: object, group: Group, signal: AbortSignal | undefined): Promise<void> {
    return new Promise((resolve, reject) => {
      const waiting: Waiting = {
        owner,
        group,
        begin() {
          signal?.removeEventListener('abort', leave)
          resolve()
        },
      }
      const leave = () => {
        this.#waiting.splice(this.#waiting.indexOf(waiting), 1)
        reject(signal!.reason)
      }
      signal?.addEventListener('abort', leave, { once: true })
      this.#waiting.push(waiting)
    })
  }
}
