import { at } from '../base/lists.ts'
import type { Covariance, Its90Conversion, Its90Set } from '../kinds/conversion.ts'
import { said } from '../messages/said.ts'
import { ThermometryError } from './errors.ts'
import {
  type Coefficients,
  type Deviation,
  deviationFunction,
  ratioFromReference,
} from './its90-deviation.ts'
import {
  HIGHEST_C,
  LOWEST_C,
  referenceRatioHigh,
  referenceRatioLow,
  referenceSlopeHigh,
  referenceSlopeLow,
  referenceTemperature,
  referenceTemperatureHigh,
  referenceTemperatureLow,
  WTP_C,
} from './its90-reference.ts'
import {
  COEFFICIENT_NAMES,
  type CoefficientName,
  checkCoefficients,
  type Subrange,
  subrange,
  subrangesFor,
} from './its90-subranges.ts'
import type { Sensor } from './sensor.ts'

/** Rounding of a ratio near 1: a value this little below the change-over still belongs to the upper function. */
const RATIO_SLACK = 1e-15

/** How far beyond its own range a reference function is still followed, kelvin; the result is marked all the same. */
const REACH_ABOVE_K = 300
const REACH_BELOW_K = { low: 3, high: 200 } as const

/** One subrange with a thermometer's coefficients in it. */
export interface Branch {
  readonly range: Subrange
  readonly deviation: Deviation
  readonly covariance?: Covariance
  /** Puts the branch's name before its coefficients' names where two branches are joined. */
  readonly prefix: string
}

function presentCoefficients(set: Pick<Its90Set, 'coefficients'>): CoefficientName[] {
  return COEFFICIENT_NAMES.filter((name) => set.coefficients[name] !== undefined)
}

/**
 * The subranges a set stands for: the one it names, or those its coefficients mean, checked for missing and surplus
 * coefficients.
 *
 * Symbols  set, coefficients as written, with the section of the subrange where it is named
 * Source   ITS-90, Metrologia 27, 3-10 (1990), section 3.3 and Table 5
 * Valid    see `subrangesFor` and `checkCoefficients`
 * Throws   ThermometryError 'missing-coefficient' | 'unknown-coefficient' | 'unknown-subrange'
 */
export function subrangesOf(set: Pick<Its90Set, 'coefficients' | 'subrange'>): readonly Subrange[] {
  const present = presentCoefficients(set)
  if (set.subrange === undefined) return subrangesFor(present)
  const range = subrange(set.subrange)
  checkCoefficients(
    range,
    present,
    present.filter((name) => Number(set.coefficients[name]) === 0),
  )
  return [range]
}

function branches(set: Its90Set, prefix: string): Branch[] {
  const numbers: Partial<Record<CoefficientName, number>> = {}
  for (const name of presentCoefficients(set)) numbers[name] = Number(set.coefficients[name])
  const wAluminium = set.wAluminium === undefined ? undefined : Number(set.wAluminium)
  return subrangesOf(set).map((range) => ({
    range,
    deviation: deviationFunction(range, numbers satisfies Coefficients, wAluminium),
    prefix,
    ...(set.covariance && { covariance: set.covariance }),
  }))
}

/**
 * The one or two branches of a thermometer, the lower first.
 *
 * Symbols  conversion as written, its coefficients and sections
 * Source   ITS-90, Metrologia 27, 3-10 (1990), section 3.3 and Table 5
 * Valid    one set, or two on either side of the water triple point
 * Throws   ThermometryError 'missing-coefficient' | 'unknown-coefficient' | 'unknown-subrange' for sets that claim the
 *          same side | 'not-finite'
 */
export function its90Branches(conversion: Its90Conversion): readonly [Branch] | readonly [Branch, Branch] {
  if (!conversion.joined) {
    const own = branches(conversion, '').sort((p, q) => p.range.lowC - q.range.lowC)
    return own.length === 2 ? [at(own, 0), at(own, 1)] : [at(own, 0)]
  }
  const first = branches(conversion, '')
  const second = branches(conversion.joined, 'joined.')
  const low = (set: Branch[]) => set.find(({ range }) => range.reference === 'low')
  const high = (set: Branch[]) => set.find(({ range }) => range.reference === 'high')
  const pairs = [
    [low(first), high(second)],
    [low(second), high(first)],
  ].filter((pair): pair is [Branch, Branch] => pair.every((branch) => branch !== undefined))
  if (pairs.length !== 1) {
    throw new ThermometryError('unknown-subrange', said('sets-do-not-join', {}))
  }
  return at(pairs, 0)
}

/**
 * Temperature of a ratio by one branch. A literal of its own for each form, so that the engine sees one callee in each
 * and can inline it: this is the innermost line of the live path.
 */
function temperatureFunction({ range, deviation: { value } }: Branch): (w: number) => number {
  if (range.reference === 'high') return (w) => referenceTemperatureHigh(w - value(w))
  if (range.reference === 'both') return (w) => referenceTemperature(w - value(w))
  if (range.form === 'log') return (w) => referenceTemperatureLow(w - value(w))
  return (w) => referenceTemperatureLow(w - value(w))
}

function branchFunctions(branch: Branch) {
  const { reference } = branch.range
  const { deviation } = branch
  const isLow = (t90: number) => reference === 'low' || (reference === 'both' && t90 < WTP_C)
  const referenceRatioOf = (t90: number) => (isLow(t90) ? referenceRatioLow(t90) : referenceRatioHigh(t90))
  const referenceSlopeOf = (t90: number) => (isLow(t90) ? referenceSlopeLow(t90) : referenceSlopeHigh(t90))
  return {
    temperature: temperatureFunction(branch),
    ratio: (t90: number) => ratioFromReference(deviation, referenceRatioOf(t90)),
    slope: (t90: number, w: number) => referenceSlopeOf(t90) / (1 - deviation.slope(w)),
  }
}

/**
 * W from which the upper of two branches holds: its own ratio at 0 degC, the lower end of its range.
 *
 * Symbols  W measured ratio, 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), section 3.3.2
 * Valid    branches of sections 3.3.2 to 3.3.2.5
 * Throws   nothing
 */
export function changeOverRatio(upper: Branch): number {
  return branchFunctions(upper).ratio(0) - RATIO_SLACK
}

/**
 * A platinum resistance thermometer on ITS-90, as a relation between W and temperature.
 *
 *   Wr(T90) = W - f(W),   dW/dT90 = (dWr/dT90)/(1 - df/dW),   W = R(T90)/R(273.16 K)
 *
 * Where there are two branches, the upper one holds from 0 degC on, the lower end of its own range.
 *
 * Symbols  W measured ratio, 1; Wr reference ratio, 1; f deviation function; R(WTP) in ohm; t90 in degC
 * Source   ITS-90, Metrologia 27, 3-10 (1990), section 3.3
 * Valid    the range of the subrange or subranges, narrowed by the conversion's own `range`
 * Throws   ThermometryError 'missing-coefficient' | 'unknown-coefficient' | 'unknown-subrange' | 'not-finite'
 */
export function its90Sensor(conversion: Its90Conversion): Sensor {
  const [lower, upper] = its90Branches(conversion)
  const below = branchFunctions(lower)
  const above = upper && branchFunctions(upper)
  const changeOver = upper ? changeOverRatio(upper) : Number.POSITIVE_INFINITY
  const branchAt = (t90: number): Branch => (upper && t90 >= 0 ? upper : lower)
  const sections = upper
    ? `subranges ${lower.range.section} and ${upper.range.section}`
    : `subrange ${lower.range.section}`
  const covariance = joinedCovariance(upper ? [lower, upper] : [lower])
  return {
    kind: 'its90',
    signal: 'ratio',
    ...(conversion.rWtp !== undefined && {
      scale: { name: 'rWtp' as const, ohm: Number(conversion.rWtp), u: conversion.uRWtp ?? 0 },
    }),
    lowC: conversion.range?.[0] ?? lower.range.lowC,
    highC: conversion.range?.[1] ?? (upper ?? lower).range.highC,
    reachC: [
      lower.range.reference === 'high' ? -REACH_BELOW_K.high : LOWEST_C - REACH_BELOW_K.low,
      (upper ?? lower).range.reference === 'low' ? WTP_C + REACH_ABOVE_K : HIGHEST_C + REACH_ABOVE_K,
    ],
    rangeOf: conversion.range ? 'this calibration' : `${sections} of ITS-90`,
    temperature: above
      ? (w) => (w < changeOver ? below.temperature(w) : above.temperature(w))
      : below.temperature,
    signalAt: above ? (t90) => (t90 < 0 ? below.ratio(t90) : above.ratio(t90)) : below.ratio,
    slope: above ? (t90, w) => (t90 < 0 ? below.slope(t90, w) : above.slope(t90, w)) : below.slope,
    gradient: (t90, w) => {
      const branch = branchAt(t90)
      const share = 1 / (1 - branch.deviation.slope(w))
      const terms = branch.deviation.terms(w)
      return Object.fromEntries(
        branch.range.coefficients.map((name, i) => [branch.prefix + name, at(terms, i) * share] as const),
      )
    },
    ...(covariance && { covariance }),
  }
}

/** Two independent calibrations side by side: a block for each set that has a covariance. */
function joinedCovariance(parts: readonly Branch[]): Covariance | undefined {
  const blocks = parts.flatMap(({ covariance, prefix }, i) =>
    covariance && parts.findIndex((p) => p.prefix === prefix) === i ? [{ covariance, prefix }] : [],
  )
  if (blocks.length === 0) return undefined
  const names = blocks.flatMap(({ covariance, prefix }) => covariance.names.map((name) => prefix + name))
  const matrix = names.map(() => names.map(() => 0))
  let offset = 0
  for (const { covariance } of blocks) {
    covariance.matrix.forEach((row, i) => {
      row.forEach((value, j) => {
        at(matrix, offset + i)[offset + j] = value
      })
    })
    offset += covariance.matrix.length
  }
  return { names, matrix }
}
