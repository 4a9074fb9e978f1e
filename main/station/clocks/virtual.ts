import type { Clock, Disposable, Instant, StopSignal } from '../../../app/base/clock.ts'
import { FreightBook } from './freight-book.ts'
import { sleepOn } from './sleep.ts'

interface Timer {
  dueUs: number
  order: number
  callback: () => void
  live: boolean
}

export interface VirtualClockOptions {
  /** UTC at the start, microseconds. */
  startUtcUs: number
  /** Upper bound on virtual seconds per real second; Infinity: as fast as the work goes. */
  speed?: number
  /** Turns of the event loop without a timer being set or cleared before time jumps. */
  quietTurns?: number
}

/**
 * Time that jumps. Whoever waits sets a timer here; once the event loop has been quiet for a few turns everything that
 * could happen at this moment has happened, and time goes straight to the next timer. Loopback sockets within one
 * process deliver within a turn, so deadlines never run out merely because the computer is slow. What goes through another
 * process (serial pairs) is entered as freight, and time stands while some is on its way.
 */
export class VirtualClock implements Clock {
  #nowUs = 0
  readonly #startUtcUs: number
  #speed: number
  /** Where the present pace began, of this clock and of the wall. */
  #paceFromUs = 0
  #paceFromMs = performance.now()
  readonly #quietTurns: number
  readonly #heap: Timer[] = []
  #order = 0
  #turns = 0
  #running = false
  #stopped = false
  /** A wait for the pace, which another pace cuts short. */
  #wait: ReturnType<typeof setTimeout> | undefined
  #utcStepUs = 0
  readonly freight = new FreightBook(() => {
    this.#turns = 0
    this.#cutWaitShort()
  })

  constructor(options: VirtualClockOptions) {
    this.#startUtcUs = options.startUtcUs
    this.#speed = options.speed ?? Number.POSITIVE_INFINITY
    this.#quietTurns = options.quietTurns ?? 4
  }

  now(): Instant {
    return { utcUs: this.#startUtcUs + this.#nowUs + this.#utcStepUs, monoUs: this.#nowUs }
  }

  after(ms: number, callback: () => void): Disposable {
    const timer: Timer = {
      dueUs: this.#nowUs + Math.max(0, Math.round(ms * 1000)),
      order: this.#order++,
      callback,
      live: true,
    }
    push(this.#heap, timer)
    this.#touch()
    return {
      dispose: () => {
        if (!timer.live) return
        timer.live = false
        this.#touch()
      },
    }
  }

  sleep(ms: number, signal?: StopSignal): Promise<void> {
    return sleepOn(this, ms, signal)
  }

  /** Sets the wall clock forward or back as an operator or a time server would; monotonic time is untouched. */
  stepUtc(ms: number): void {
    this.#utcStepUs += Math.round(ms * 1000)
  }

  get speed(): number {
    return this.#speed
  }

  /** From now on this many times as fast as the wall, at most. Throws RangeError unless it is above 0. */
  setSpeed(speed: number): void {
    if (!(speed > 0)) throw new RangeError(`speed must be above 0, got ${speed}`)
    this.#speed = speed
    this.#paceFromUs = this.#nowUs
    this.#paceFromMs = performance.now()
    this.#cutWaitShort()
  }

  /** Ends all waiting; timers still set never fire. */
  stop(): void {
    this.#stopped = true
    this.#heap.length = 0
  }

  #cutWaitShort(): void {
    if (this.#wait === undefined) return
    clearTimeout(this.#wait)
    this.#wait = undefined
    setImmediate(this.#turn)
  }

  #touch(): void {
    this.#turns = 0
    if (!this.#running && !this.#stopped) {
      this.#running = true
      setImmediate(this.#turn)
    }
  }

  readonly #turn = (): void => {
    this.#wait = undefined
    if (this.#stopped) return
    let next = this.#heap[0]
    while (next && !next.live) {
      pop(this.#heap)
      next = this.#heap[0]
    }
    if (!next) {
      this.#running = false
      return
    }
    this.#turns += 1
    if (this.#turns <= this.#quietTurns) {
      setImmediate(this.#turn)
      return
    }
    const paceLeft = Number.isFinite(this.#speed)
      ? (next.dueUs - this.#paceFromUs) / 1000 / this.#speed - (performance.now() - this.#paceFromMs)
      : 0
    const left = Math.max(this.freight.waitMs(), paceLeft)
    if (left > 0.5) {
      this.#wait = setTimeout(this.#turn, left)
      return
    }
    pop(this.#heap)
    this.#nowUs = Math.max(this.#nowUs, next.dueUs)
    next.live = false
    this.#turns = 0
    setImmediate(this.#turn)
    next.callback()
  }
}

function before(a: Timer, b: Timer): boolean {
  return a.dueUs < b.dueUs || (a.dueUs === b.dueUs && a.order < b.order)
}

function push(heap: Timer[], timer: Timer): void {
  let i = heap.push(timer) - 1
  while (i > 0) {
    const parent = (i - 1) >> 1
    if (!before(timer, heap[parent]!)) break
    heap[i] = heap[parent]!
    i = parent
  }
  heap[i] = timer
}

function pop(heap: Timer[]): void {
  const last = heap.pop()
  if (!last || heap.length === 0) return
  let i = 0
  for (;;) {
    let child = 2 * i + 1
    if (child >= heap.length) break
    if (child + 1 < heap.length && before(heap[child + 1]!, heap[child]!)) child += 1
    if (!before(heap[child]!, last)) break
    heap[i] = heap[child]!
    i = child
  }
  heap[i] = last
}
