import { at, first, last } from '../base/lists.ts'
import { chiSquaredQuantile } from '../statistics/chi-squared.ts'
import type { FixedPointValue } from './fixed-point.ts'

/** Near 0.01 degC every platinum thermometer changes by this part of its resistance for each kelvin, well within what a head of a few tenths of a millikelvin asks. */
const PER_KELVIN = 3.9885e-3

/** R(0.01 degC) of a water plateau, its head taken off. */
const rWtpOf = (v: FixedPointValue) => v.ohm * (1 - PER_KELVIN * (v.t90C - 0.01))

/**
 * R(0.01 degC) of a set: its mean, and its value at a time. Between two water plateaus it is taken to move evenly, before the
 * first and after the last to stand still; without times it is the mean throughout.
 */
export function wtpOver(water: readonly FixedPointValue[]): { mean: number; at(utcMs?: number): number } {
  const mean = water.reduce((sum, v) => sum + rWtpOf(v), 0) / water.length
  const timed = water
    .flatMap((v) => (v.utcMs === undefined ? [] : [{ utcMs: v.utcMs, ohm: rWtpOf(v) }]))
    .toSorted((a, b) => a.utcMs - b.utcMs)
  return {
    mean,
    at(utcMs) {
      if (utcMs === undefined || timed.length < water.length) return mean
      const after = timed.findIndex((v) => v.utcMs >= utcMs)
      if (after < 0) return last(timed).ohm
      if (after === 0) return first(timed).ohm
      const [a, b] = [at(timed, after - 1), at(timed, after)]
      return a.ohm + ((b.ohm - a.ohm) * (utcMs - a.utcMs)) / (b.utcMs - a.utcMs)
    },
  }
}

/** From one water plateau to the next: how far R(0.01 degC) moved, as a temperature. */
export interface WtpStep {
  readonly changeMk: number
  /** k = 2; the cell and the resistor, which both have, are not in it. */
  readonly expandedMk: number
  readonly agrees: boolean
}

/** R(0.01 degC) between the plateaus of a sequence, in the order they were taken. */
export function wtpSteps(water: readonly FixedPointValue[]): WtpStep[] {
  const ordered = water.toSorted((a, b) => (a.utcMs ?? 0) - (b.utcMs ?? 0))
  const own = (v: FixedPointValue) =>
    Math.hypot(...v.components.filter((c) => c.sharedBy === 'nothing').map((c) => c.uMk))
  return ordered.slice(1).map((v, i) => {
    const before = at(ordered, i)
    const changeMk = ((rWtpOf(v) / rWtpOf(before) - 1) / PER_KELVIN) * 1e3
    const expandedMk = 2 * Math.hypot(own(v), own(before))
    return { changeMk, expandedMk, agrees: Math.abs(changeMk) <= expandedMk }
  })
}

export interface SetConsistency {
  readonly chiSquared: number
  readonly degreesOfFreedom: number
  /** Chi-squared is left by chance in one set of twenty. */
  readonly limit: number
  readonly agrees: boolean
}

/**
 * Whether more points than coefficients agree: the squares of what is left of them over the squares that their uncertainties
 * lead to expect, what they share included. Source: chi-squared test, 5 %; common practice, no source for the level.
 */
export function consistencyOf(share: number, degreesOfFreedom: number): SetConsistency | null {
  if (degreesOfFreedom < 1) return null
  const chiSquared = share * degreesOfFreedom
  const limit = chiSquaredQuantile(0.95, degreesOfFreedom)
  return { chiSquared, degreesOfFreedom, limit, agrees: chiSquared <= limit }
}
