import { first, last as lastOf, neighbours, zip } from '../base/lists.ts'
import type { PolynomialConversion, Quantity, TableConversion } from '../kinds/conversion.ts'
import { said } from '../messages/said.ts'
import { ThermometryError } from './errors.ts'
import { polynomial, polynomialSlope, realRoots, rootBound } from './polynomial.ts'
import type { Sensor } from './sensor.ts'

/** A plain relation y(x) with its range in x, and every x that gives a y, the preferred one first. */
export interface PlainRelation {
  readonly from: Quantity | undefined
  readonly to: Quantity | undefined
  readonly low: number
  readonly high: number
  readonly words: string
  y(x: number): number
  slope(x: number): number
  xs(y: number): readonly number[]
  /** dy/dcoefficient, by the power as text. */
  gradient(x: number): Readonly<Record<string, number>>
}

/**
 * A polynomial of a sensor's signal, or of temperature.
 *
 *   y = sum_i c_i x^i
 *
 * Symbols  x, y in the units of their quantities (1, ohm, mV, degC); c_i ascending
 * Source   common practice, no source
 * Valid    the conversion's own `range` of x; without one everywhere. The inverse searches the range, then widely;
 *          where several x give y, those inside the range come first, then the one nearest to 0
 * Throws   nothing
 */
export function polynomialRelation(conversion: PolynomialConversion): PlainRelation {
  const c = conversion.coefficients.map(Number)
  const [low, high] = conversion.range ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY]
  return {
    from: conversion.from,
    to: conversion.to,
    low,
    high,
    words: 'this polynomial',
    y: (x) => polynomial(c, x),
    slope: (x) => polynomialSlope(c, x),
    xs: (y) => {
      const shifted = c.map((ci, i) => (i === 0 ? ci - y : ci))
      if (conversion.range) {
        const margin = 1e-9 * (high - low)
        const inside = realRoots(shifted, low - margin, high + margin)
        if (inside.length > 0) return inside
      }
      const bound = rootBound(shifted)
      const middle = conversion.range ? (low + high) / 2 : 0
      return realRoots(shifted, -bound, bound).sort((p, q) => Math.abs(p - middle) - Math.abs(q - middle))
    },
    gradient: (x) => Object.fromEntries(c.map((_, i) => [String(i), x ** i])),
  }
}

/**
 * A table with straight lines between its points.
 *
 *   y = y_k + (x - x_k)(y_{k+1} - y_k)/(x_{k+1} - x_k),   x_k <= x <= x_{k+1}
 *
 * Symbols  x_k, y_k points of the table in the units of their quantities (1, ohm, mV, degC)
 * Source   common practice, no source
 * Valid    from the first to the last x; beyond them the outermost line goes on, and the caller marks it
 * Throws   nothing
 */
export function tableRelation(conversion: TableConversion): PlainRelation {
  const points = conversion.x.map((x, i) => [Number(x), Number(conversion.y[i])] as const)
  points.sort((p, q) => p[0] - q[0])
  const x = points.map((p) => p[0])
  const y = points.map((p) => p[1])
  const last = x.length - 2
  const slopes = neighbours(points).map(([low, high]) => (high[1] - low[1]) / (high[0] - low[0]))
  const lines = zip(neighbours(points), slopes)
  const segment = (at: number) => {
    let low = 0
    let high = last
    while (low < high) {
      const middle = (low + high + 1) >> 1
      if (x[middle]! <= at) low = middle
      else high = middle - 1
    }
    return low
  }
  return {
    from: conversion.from,
    to: conversion.to,
    low: first(x),
    high: lastOf(x),
    words: 'this table',
    y: (at) => {
      const k = segment(at)
      return y[k]! + (at - x[k]!) * slopes[k]!
    },
    slope: (at) => slopes[segment(at)]!,
    xs: (value) => {
      const found: number[] = []
      for (const [[[ownX, ownY], [, nextY]], slope] of lines) {
        const inside = (ownY - value) * (nextY - value) <= 0
        if (!inside || slope === 0) {
          if (inside && value === ownY && !found.includes(ownX)) found.push(ownX)
          continue
        }
        const at = ownX + (value - ownY) / slope
        if (!found.some((other) => Math.abs(other - at) <= 1e-12 * Math.max(1, Math.abs(at)))) found.push(at)
      }
      if (found.length > 0) return found
      // Beyond the table: the outermost line whose direction leads there.
      const beyond = [
        { k: 0, at: first(x) + (value - first(y)) / first(slopes) },
        { k: last, at: lastOf(x) + (value - lastOf(y)) / lastOf(slopes) },
      ].filter(
        ({ k, at }) =>
          Number.isFinite(at) && ((k === 0 && at <= first(x)) || (k === last && at >= lastOf(x))),
      )
      return beyond.map(({ at }) => at)
    },
    gradient: () => ({}),
  }
}

/**
 * The relation of a plain conversion, polynomial or table.
 *
 * Symbols  conversion as kept in the register
 * Source   common practice, no source
 * Valid    see `polynomialRelation` and `tableRelation`
 * Throws   nothing
 */
export function plainRelation(conversion: PolynomialConversion | TableConversion): PlainRelation {
  return conversion.kind === 'polynomial' ? polynomialRelation(conversion) : tableRelation(conversion)
}

/**
 * A sensor with a plain relation: a polynomial or a table from its signal to temperature, or the other way.
 *
 * Symbols  signal in 1, ohm or mV as the conversion says; t temperature, degC
 * Source   common practice, no source
 * Valid    the range of the relation, in the unit of its x
 * Throws   ThermometryError 'wrong-quantity' where neither side is a temperature, or both are
 */
export function plainSensor(conversion: PolynomialConversion | TableConversion): Sensor {
  const relation = plainRelation(conversion)
  const fromTemperature = relation.from === 'temperature'
  const other = fromTemperature ? relation.to : relation.from
  if (
    other === 'temperature' ||
    (!fromTemperature && relation.to !== undefined && relation.to !== 'temperature')
  ) {
    throw new ThermometryError(
      'wrong-quantity',
      said('conversion-gives-no-temperature', {
        kind: conversion.kind,
        from: relation.from ?? 'a signal',
        to: relation.to ?? 'temperature',
      }),
      { from: relation.from, to: relation.to },
    )
  }
  const common = {
    kind: conversion.kind,
    signal: other ?? ('any' as const),
    reachC: [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY] as const,
    rangeOf: relation.words,
    ...(conversion.kind === 'polynomial' && conversion.covariance && { covariance: conversion.covariance }),
  }
  const firstX = (y: number) => relation.xs(y)[0] ?? Number.NaN
  if (fromTemperature) {
    return {
      ...common,
      lowC: relation.low,
      highC: relation.high,
      temperature: firstX,
      signalAt: relation.y,
      slope: relation.slope,
      gradient: relation.gradient,
      alternatives: (signal) => relation.xs(signal).slice(1),
    }
  }
  return {
    ...common,
    lowC: Number.NEGATIVE_INFINITY,
    highC: Number.POSITIVE_INFINITY,
    signalRange: [relation.low, relation.high],
    temperature: relation.y,
    signalAt: firstX,
    slope: (_, x) => 1 / relation.slope(x),
    gradient: (_, x) => {
      const share = -1 / relation.slope(x)
      return Object.fromEntries(Object.entries(relation.gradient(x)).map(([name, g]) => [name, g * share]))
    },
    signalAlternatives: (t) => relation.xs(t).slice(1),
  }
}
