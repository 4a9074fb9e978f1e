import type { LiveBoard } from './board.ts'
import {
  differenceScale,
  inUnit,
  isDifference,
  type Look,
  lookOf,
  ringQuantity,
  type Sight,
} from './quantity.ts'
import type { ReadingRing } from './ring.ts'

/** Setpoint in force at a moment (s UTC), °C; NaN where none is known. */
export type SetpointAt = (time: number) => number

const lookAt = (board: LiveBoard, channel: string, { shown }: Sight): Look =>
  lookOf(shown, board.units.get(channel))

/** Makes the shown number of a place in a channel's ring. */
export function shownInRing(
  board: LiveBoard,
  ring: ReadingRing,
  channel: string,
  sight: Sight,
  setpointAt: SetpointAt,
): (slot: number) => number {
  const look = lookAt(board, channel, sight)
  const quantity = ringQuantity(look.quantity)
  const values = ring[quantity]
  if (isDifference(sight, channel)) {
    const base = board.rings.get(sight.base!)
    const scale = differenceScale(look.quantity)
    if (!base) return () => Number.NaN
    return (slot) => (values[slot]! - base.valueAt(quantity, ring.time[slot]!)) * scale
  }
  if (look.quantity === 'deviation') return (slot) => (values[slot]! - setpointAt(ring.time[slot]!)) * 1000
  return look.unit === undefined ? (slot) => values[slot]! : (slot) => inUnit(values[slot]!, look)
}

/** The shown number at a moment that the rings reach, NaN elsewhere. */
export function shownAt(
  board: LiveBoard,
  channel: string,
  sight: Sight,
  time: number,
  setpointAt: SetpointAt,
): number {
  const look = lookAt(board, channel, sight)
  const quantity = ringQuantity(look.quantity)
  const value = board.rings.get(channel)?.valueAt(quantity, time) ?? Number.NaN
  if (isDifference(sight, channel)) {
    const base = board.rings.get(sight.base!)?.valueAt(quantity, time) ?? Number.NaN
    return (value - base) * differenceScale(look.quantity)
  }
  return look.quantity === 'deviation' ? (value - setpointAt(time)) * 1000 : inUnit(value, look)
}

/** The newest shown number, NaN where there is none. A difference is taken at the newest moment both have. */
export function newestShown(
  board: LiveBoard,
  channel: string,
  sight: Sight,
  setpointC: number | null,
): number {
  const ring = board.rings.get(channel)
  if (!ring) return Number.NaN
  if (!isDifference(sight, channel)) {
    const look = lookAt(board, channel, sight)
    const value = ring.newest(ringQuantity(look.quantity))
    return look.quantity === 'deviation' ? (value - (setpointC ?? Number.NaN)) * 1000 : inUnit(value, look)
  }
  const base = board.rings.get(sight.base!)
  if (!base || Math.abs(ring.newestTime - base.newestTime) > Math.max(ring.reach, base.reach))
    return Number.NaN
  return shownAt(board, channel, sight, Math.min(ring.newestTime, base.newestTime), () => Number.NaN)
}

/** Moment from which on the rings can show a channel; NaN where they cannot. */
export function shownSince(board: LiveBoard, channel: string, sight: Sight): number {
  const own = board.rings.get(channel)?.oldestTime ?? Number.NaN
  if (!isDifference(sight, channel)) return own
  return Math.max(own, board.rings.get(sight.base!)?.oldestTime ?? Number.NaN)
}
