import type { StationLog } from '../../station/log.ts'
import { Allowance } from './allowance.ts'
import { BoundedLog } from './bounded-log.ts'
import { Breath } from './breath.ts'
import { BRAKE_MS, GATE_LIMITS, type Group, type GroupLimits, MOST_REPLAYS } from './limits.ts'

interface GroupState {
  readonly limits: GroupLimits
  readonly messages: Allowance
  readonly bytes: Allowance
  windows: number
  streams: number
}

/**
 * What all windows of a station go through, whatever wire they come over: the page's sockets and the desktop's ports. A
 * window that is broken, or in strange hands, must not keep the station from measuring.
 */
export class Gate {
  readonly refusals: BoundedLog
  readonly #nowMs: () => number
  readonly #breath = new Breath()
  #replays = 0
  readonly #groups: Record<Group, GroupState>

  constructor(
    log: Pick<StationLog, 'warn'>,
    limits: Readonly<Record<Group, GroupLimits>> = GATE_LIMITS,
    nowMs: () => number = () => performance.now(),
  ) {
    this.refusals = new BoundedLog(log, nowMs)
    this.#nowMs = nowMs
    const state = (of: GroupLimits): GroupState => ({
      limits: of,
      messages: new Allowance(of.perSecond, of.atOnce, nowMs()),
      bytes: new Allowance(of.bytesPerSecond, of.bytesAtOnce, nowMs()),
      windows: 0,
      streams: 0,
    })
    this.#groups = {
      members: state(limits.members),
      onlookers: state(limits.onlookers),
      programs: state(limits.programs),
    }
  }

  limits(group: Group): GroupLimits {
    return this.#groups[group].limits
  }

  /** Whether one more window of a group may come in. */
  hasRoom(group: Group): boolean {
    const { windows, limits } = this.#groups[group]
    return windows < limits.windows
  }

  enter(group: Group): void {
    this.#groups[group].windows += 1
  }

  leave(group: Group): void {
    this.#groups[group].windows -= 1
  }

  /** Counts a message in; how long its sender has to be left unheard, ms. */
  draw(group: Group, bytes: number): number {
    const { messages, bytes: volume } = this.#groups[group]
    const now = this.#nowMs()
    return Math.max(messages.draw(1, now), volume.draw(bytes, now))
  }

  /** How long a group waits because the loop that measures has no time to spare, ms. */
  brake(group: Group): number {
    return group !== 'members' && this.#breath.short ? BRAKE_MS : 0
  }

  /** Lets a stream begin; a function that tells of its end, or undefined where there are too many. */
  stream(group: Group): (() => void) | undefined {
    const state = this.#groups[group]
    if (state.streams >= state.limits.streams) return undefined
    state.streams += 1
    return () => {
      state.streams -= 1
    }
  }

  /** The same for a replay, of whichever group. */
  replay(): (() => void) | undefined {
    if (this.#replays >= MOST_REPLAYS) return undefined
    this.#replays += 1
    return () => {
      this.#replays -= 1
    }
  }
}
