import { Cadence } from './cadence.ts'

/** Numbers at moments, in time order. */
export interface Track {
  t: Float64Array
  v: Float64Array
}

/** Index of the first time not before `time`. */
export function indexFrom(t: ArrayLike<number>, time: number): number {
  let low = 0
  let high = t.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (t[middle]! < time) low = middle + 1
    else high = middle
  }
  return low
}

/** How long a value of the track stands, s: as learnt from its first few hundred steps. */
export function reachOf(t: ArrayLike<number>): number {
  const cadence = new Cadence()
  for (let i = 0; i < Math.min(t.length, 300); i++) cadence.step(t[i]!)
  return cadence.reach
}

/** Straight between the neighbours; NaN in a gap and beyond the ends. */
export function valueOn({ t, v }: Track, time: number, reach = reachOf(t)): number {
  const i = indexFrom(t, time)
  if (i < t.length && t[i] === time) return v[i]!
  if (i === 0 || i >= t.length) return Number.NaN
  const step = t[i]! - t[i - 1]!
  if (step > reach) return Number.NaN
  return v[i - 1]! + ((time - t[i - 1]!) / step) * (v[i]! - v[i - 1]!)
}

/** A track less another at the same moments, times `scale`; where the other has nothing, nothing is left. */
export function less(own: Track, other: Track, scale: number): Track {
  const reach = reachOf(other.t)
  const t: number[] = []
  const v: number[] = []
  for (let i = 0; i < own.t.length; i++) {
    const value = (own.v[i]! - valueOn(other, own.t[i]!, reach)) * scale
    if (!Number.isFinite(value)) continue
    t.push(own.t[i]!)
    v.push(value)
  }
  return { t: Float64Array.from(t), v: Float64Array.from(v) }
}
