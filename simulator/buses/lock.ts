import type { Clock, Disposable } from '../../app/base/clock.ts'

interface Waiting {
  readonly who: object
  readonly key: string
  readonly timer: Disposable
  readonly done: (granted: boolean) => void
}

/** The lock of one instrument on a bus: exclusive for one client, or shared among those that know its key. */
export class BusLock {
  readonly #clock: Clock
  #exclusive: object | undefined
  readonly #sharing = new Set<object>()
  #key = ''
  #waiting: Waiting[] = []
  #onFree: (() => void)[] = []

  constructor(clock: Clock) {
    this.#clock = clock
  }

  /** How many clients hold a lock. */
  get holders(): number {
    return new Set([...(this.#exclusive ? [this.#exclusive] : []), ...this.#sharing]).size
  }

  get isExclusive(): boolean {
    return this.#exclusive !== undefined
  }

  holds(who: object): boolean {
    return this.#exclusive === who || this.#sharing.has(who)
  }

  /** Whether a client may use the instrument now. */
  isOpenFor(who: object): boolean {
    if (this.#exclusive !== undefined) return this.#exclusive === who
    return this.#sharing.size === 0 || this.#sharing.has(who)
  }

  /** Grants the lock now, or within the time; an empty key means the exclusive one. */
  request(who: object, key: string, timeoutMs: number): Promise<boolean> {
    if (this.#grant(who, key)) return Promise.resolve(true)
    if (timeoutMs <= 0) return Promise.resolve(false)
    return new Promise((resolve) => {
      const waiting: Waiting = {
        who,
        key,
        timer: this.#clock.after(timeoutMs, () => {
          this.#waiting = this.#waiting.filter((each) => each !== waiting)
          resolve(false)
        }),
        done: resolve,
      }
      this.#waiting.push(waiting)
    })
  }

  /** Waits until the client may use the instrument. */
  whenOpen(who: object, act: () => void): void {
    if (this.isOpenFor(who)) act()
    else this.#onFree.push(() => this.whenOpen(who, act))
  }

  /** Takes it whoever holds it: another program's lock, for a fault. */
  take(who: object): void {
    this.#exclusive = who
    this.#sharing.clear()
  }

  release(who: object): 'exclusive' | 'shared' | 'none' {
    const what = this.#exclusive === who ? 'exclusive' : this.#sharing.has(who) ? 'shared' : 'none'
    if (what === 'exclusive') this.#exclusive = undefined
    else this.#sharing.delete(who)
    if (what === 'none') return what
    for (const waiting of [...this.#waiting]) {
      if (!this.#grant(waiting.who, waiting.key)) continue
      this.#waiting = this.#waiting.filter((each) => each !== waiting)
      waiting.timer.dispose()
      waiting.done(true)
    }
    const freed = this.#onFree
    this.#onFree = []
    for (const act of freed) act()
    return what
  }

  #grant(who: object, key: string): boolean {
    if (this.#exclusive !== undefined && this.#exclusive !== who) return false
    if (key === '') {
      if ([...this.#sharing].some((each) => each !== who)) return false
      this.#exclusive = who
      return true
    }
    if (this.#sharing.size > 0 && this.#key !== key) return false
    this.#key = key
    this.#sharing.add(who)
    return true
  }
}
