import { numericalTolerance } from '../statistics/monte-carlo.ts'
import type { Random } from '../statistics/random.ts'
import type { Prepared } from '../thermometry/convert.ts'
import type { PairFit } from './analysis-fit.ts'
import { covarianceOf, type ErrorColumn, errorDraws, isNormal } from './uncertainty-draws.ts'
import type { ErrorSource } from './uncertainty-sources.ts'

/** Standard deviations within which a conversion is looked at before it is taken as a line: one trial in 10^15 lies beyond. */
const REACH = 8
/** What a line may be off there, as a part of the tolerance to which the two methods are compared. */
const STRAIGHT = 0.01
/** A parabola stands in for a conversion where it is nearer to it than this, mK: a hundredth of the last digit of any u. */
const AS_GOOD_MK = 1e-5

/** A signal of a point: what a relative error of it does to the error of the point, mK. */
interface Side {
  readonly of: 'referenceRelative' | 'underTestRelative'
  readonly shiftMk: (relative: number) => number
}

function sideOf(of: Side['of'], prepared: Prepared, signal: number): Side {
  // Past the ends of a range by a millikelvin: the relation itself is followed, without the words of a mark.
  const { sensor, ohmPerRatio = 1 } = prepared
  const temperature = sensor.junction
    ? (x: number) => prepared.toTemperature(x).value
    : (x: number) => sensor.temperature(x / ohmPerRatio)
  const base = temperature(signal)
  const factor = of === 'referenceRelative' ? 1e3 : -1e3
  return { of, shiftMk: (r) => factor * (temperature(signal * (1 + r)) - base) }
}

/** mK for a relative error of 1 where the conversion is a line within the errors of this point, else null. */
function straightSlope({ shiftMk }: Side, uRelative: number, toleranceMk: number): number | null {
  if (uRelative === 0) return 0
  const most = REACH * uRelative
  const slope = (shiftMk(most) - shiftMk(-most)) / (2 * most)
  const isLine = [1, -1, 0.5, -0.5].every(
    (part) => Math.abs(shiftMk(part * most) - slope * part * most) < STRAIGHT * toleranceMk,
  )
  return isLine ? slope : null
}

/** Adds what a block of relative errors of a signal does to the error of its point. */
function follow({ shiftMk }: Side, relative: Float64Array, errors: Float64Array): void {
  let most = 0
  for (let k = 0; k < relative.length; k++) most = Math.max(most, Math.abs(relative[k]!))
  if (most === 0) return
  // Within the errors of a block a conversion is a parabola, unless it is looked at and is not.
  const [up, down] = [shiftMk(most), shiftMk(-most)]
  const slope = (up - down) / (2 * most)
  const bend = (up + down) / (2 * most ** 2)
  const parabola = (r: number) => r * (slope + bend * r)
  const isAsGood = [0.5, -0.5, 0.25, -0.25].every(
    (part) => Math.abs(shiftMk(part * most) - parabola(part * most)) < AS_GOOD_MK,
  )
  for (let k = 0; k < errors.length; k++) {
    const r = relative[k]!
    if (r !== 0) errors[k] = errors[k]! + (isAsGood ? parabola(r) : shiftMk(r))
  }
}

/** How the errors of all points are drawn. */
export interface PointErrors {
  /** Draws a block of trials, mK; the columns are the same each time. Without the normal sources where `normal` has them. */
  draw(random: Random): readonly Float64Array[]
  /**
   * Covariance of what all normal sources do to two points, mK squared, where every conversion is a line within its errors: their
   * sum is then known and need not be drawn. null: they are drawn with the rest.
   */
  readonly normal: ((i: number, j: number) => number) | null
}

/**
 * Errors of every point, drawn at their sources and followed through both conversions.
 *
 * Where the conversions are lines within eight standard deviations of a point's errors (to a hundredth of the tolerance of the
 * comparison, looked at and not supposed), all sources act on one column of the point; elsewhere each signal has its own, and is
 * followed as it is. `leavesNormal` says of the sum of the normal sources whether it may stay out of what is drawn.
 *
 * Source: JCGM 101:2008, 5.9 (the model is evaluated) and 7.9.2 (numerical tolerance).
 */
export function pointErrors(
  { pairs, prepared }: Pick<PairFit, 'pairs' | 'prepared'>,
  reference: Prepared,
  sources: readonly ErrorSource[],
  uMk: readonly number[],
  digits: number,
  trials: number,
  leavesNormal: (normal: (i: number, j: number) => number) => boolean,
): PointErrors {
  const bent: { side: Side; point: number }[] = []
  const totals = pairs.map((pair, point): ErrorColumn => {
    const sides = [
      sideOf('underTestRelative', prepared, pair.underTest.signal),
      ...(pair.reference ? [sideOf('referenceRelative', reference, pair.reference.signal)] : []),
    ]
    const tolerance = numericalTolerance(uMk[point]!, digits)
    const slopes = sides.map((side) =>
      straightSlope(side, Math.hypot(...sources.map((s) => s[side.of][point]!)), tolerance),
    )
    const straight = sides.flatMap(({ of }, s) => (slopes[s] === null ? [] : [{ of, slope: slopes[s]! }]))
    sides.forEach((side, s) => {
      if (slopes[s] === null) bent.push({ side, point })
    })
    return {
      point,
      actOf: (source) =>
        straight.reduce(
          (sum, { of, slope }) => sum + slope * source[of][point]!,
          source.temperatureMk[point]!,
        ),
    }
  })
  const columns = [
    ...totals,
    ...bent.map(({ side, point }): ErrorColumn => ({ point, actOf: (source) => source[side.of][point]! })),
  ]
  const celsius = pairs.map((p) => p.referenceC)
  const covariance = covarianceOf(sources.filter(isNormal), celsius, totals)
  const normal = bent.length === 0 && leavesNormal(covariance) ? covariance : null
  const drawn = normal ? sources.filter((s) => !isNormal(s)) : sources
  const draws = errorDraws(drawn, celsius, columns)
  const into = columns.map(() => new Float64Array(trials))
  return {
    normal,
    draw(random) {
      for (const column of into) column.fill(0)
      draws(random, into)
      bent.forEach(({ side, point }, b) => {
        follow(side, into[totals.length + b]!, into[point]!)
      })
      return into
    },
  }
}
