import type { StationState } from '../../app/contract/views.ts'
import { fixed } from '../text/numbers.ts'

/** Times real time; the last one is faster than any night can be read. */
export const SPEEDS = [1, 3, 10, 30, 100, 300, 1000, 3000, 10_000, 100_000] as const
export const FASTEST = 100_000
/** A replay that shows one moment and goes nowhere. */
export const STILL = 1e-6

export function speedWords(speed: number): string {
  if (speed === 1) return 'as it was, second by second'
  return speed >= FASTEST ? 'as fast as it goes' : `${fixed(speed, 0)} times as fast`
}

/** Where a channel has been in the last moments, mK. */
export interface TrailPoint {
  utcUs: number
  mk: number
}
export type Trails = ReadonlyMap<string, readonly TrailPoint[]>

/** How much of the session a trail holds. */
export const TRAIL_MIN = 30
const MOST_ON_TRAIL = 160

/** Trails with what a state adds; a step back in time begins them anew. */
export function addToTrails(trails: Trails, { channels }: StationState): Trails {
  const next = new Map<string, readonly TrailPoint[]>()
  for (const { id, lastUtcUs: utcUs, temperature } of channels) {
    const old = trails.get(id) ?? []
    const last = old.at(-1)
    if (temperature.value === null || utcUs === null || utcUs === last?.utcUs) {
      next.set(id, old)
      continue
    }
    const kept = last && utcUs > last.utcUs ? old.filter((p) => p.utcUs >= utcUs - TRAIL_MIN * 60e6) : []
    next.set(id, [...kept.slice(-MOST_ON_TRAIL + 1), { utcUs, mk: temperature.value * 1000 }])
  }
  return next
}

export const trailSpan = (trail: readonly TrailPoint[]): number | null =>
  trail.length < 2 ? null : Math.max(...trail.map(({ mk }) => mk)) - Math.min(...trail.map(({ mk }) => mk))

/** A trail as an SVG path in a box of 100 by 20, its own span from top to bottom. */
export function trailPath(trail: readonly TrailPoint[]): string {
  const [first, last] = [trail[0], trail.at(-1)]
  if (!first || !last || first === last) return ''
  const low = Math.min(...trail.map(({ mk }) => mk))
  const span = trailSpan(trail) || 1
  const x = (utcUs: number) => ((utcUs - first.utcUs) / (last.utcUs - first.utcUs)) * 100
  return trail
    .map(
      ({ utcUs, mk }, i) =>
        `${i === 0 ? 'M' : 'L'}${x(utcUs).toFixed(1)} ${(19 - ((mk - low) / span) * 18).toFixed(1)}`,
    )
    .join('')
}

/** The first of some moments after now; undefined at the end. */
export function nextAfter(moments: readonly number[], nowUtcUs: number): number | undefined {
  return moments.reduce<number | undefined>(
    (found, at) => (at > nowUtcUs && (found === undefined || at < found) ? at : found),
    undefined,
  )
}

/** How many times real time a replay went between two frames; undefined where they are the same one. */
export const paceOf = (
  before: { utcUs: number; wallMs: number },
  now: { utcUs: number; wallMs: number },
): number | undefined =>
  now.wallMs > before.wallMs ? (now.utcUs - before.utcUs) / 1000 / (now.wallMs - before.wallMs) : undefined
