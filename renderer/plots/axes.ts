import { scaleLinear, scaleTime } from 'd3-scale'
import { at, first, last } from '../../app/base/lists.ts'
import { decimalsOfStep } from '../../app/base/powers.ts'
import { fixed } from '../text/numbers.ts'
import { momentLabels } from '../text/times.ts'

/** Room around a drawing for its numbers and titles, px. */
export const MARGIN = { left: 76, right: 16, top: 10, bottom: 46 } as const

/** An axis ready to draw: where a value stands, and what is written where. */
export interface Axis {
  at(value: number): number
  /** Value at a place, the other way. */
  of(px: number): number
  low: number
  high: number
  ticks: readonly { value: number; px: number; text: string }[]
}

/** An axis of plain numbers between two pixels. */
export function linearAxis(low: number, high: number, from: number, to: number, about: number): Axis {
  const spread = high > low ? high - low : Math.abs(low) * 1e-6 || 1
  const scale = scaleLinear()
    .domain([low, high > low ? high : low + spread])
    .range([from, to])
  const values = scale.ticks(about)
  const step = values.length > 1 ? at(values, 1) - first(values) : 1
  return {
    at: (value) => scale(value),
    of: (px) => scale.invert(px),
    low,
    high,
    ticks: values.map((value) => ({ value, px: scale(value), text: fixed(value, decimalsOfStep(step)) })),
  }
}

/** Narrower apart than this, in sizes of the window's letters, what is written would run into each other. */
const APART_REM = 6.8

/** Ticks that leave each other room, the first one kept. */
function thinned<T extends { px: number }>(ticks: readonly T[], apartPx: number): T[] {
  const kept: T[] = []
  for (const tick of ticks) if (kept.length === 0 || tick.px - last(kept).px >= apartPx) kept.push(tick)
  return kept
}

/** Ticks with what is written at each, no text twice. */
function labelled(ticks: readonly { value: number; px: number; text: string }[]): Axis['ticks'] {
  const texts = momentLabels(ticks.map(({ value }) => value))
  return ticks.flatMap((tick, i) => (texts[i] === texts[i - 1] ? [] : [{ ...tick, text: at(texts, i) }]))
}

/** An axis of moments in seconds UTC, written in local time as finely as its steps need, in letters of `remPx`. */
export function timeAxis(
  low: number,
  high: number,
  from: number,
  to: number,
  about: number,
  remPx: number,
): Axis {
  const scale = scaleTime()
    .domain([new Date(low * 1000), new Date((high > low ? high : low + 1) * 1000)])
    .range([from, to])
  return {
    at: (value) => scale(new Date(value * 1000)),
    of: (px) => scale.invert(px).getTime() / 1000,
    low,
    high,
    ticks: labelled(
      thinned(
        scale.ticks(about).map((date) => ({ value: date.getTime() / 1000, px: scale(date), text: '' })),
        APART_REM * remPx,
      ),
    ),
  }
}

/** Lowest and highest of some numbers with a little room. */
export function spread(values: readonly number[], room = 0.08): { low: number; high: number } {
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  for (const v of values) {
    if (!Number.isFinite(v)) continue
    if (v < low) low = v
    if (v > high) high = v
  }
  if (low > high) return { low: 0, high: 1 }
  const by = high > low ? (high - low) * room : Math.abs(high) * 0.01 || 1
  return { low: low - by, high: high + by }
}
