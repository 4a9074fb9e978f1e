import type { CallendarVanDusenConversion, Covariance, Iec60751Conversion } from '../kinds/conversion.ts'
import type { Sensor } from './sensor.ts'

/** IEC 60751:2008 and 2022, clause 4.2 (number from memory): coefficients of the industrial platinum relation. */
export const IEC60751_A = 3.9083e-3
export const IEC60751_B = -5.775e-7
export const IEC60751_C = -4.183e-12
export const IEC60751_R0 = 100
export const IEC60751_LOW_C = -200
export const IEC60751_HIGH_C = 850

export interface CallendarVanDusen {
  readonly a: number
  readonly b: number
  readonly c: number
}

/** The coefficients of the standard's relation. */
export const IEC60751: CallendarVanDusen = { a: IEC60751_A, b: IEC60751_B, c: IEC60751_C }

/** Below this R/R0 the relation has no temperature that could be meant; above it, near the top of the parabola. */
const REACH_C: readonly [number, number] = [-245, 1500]

/**
 * Resistance of a platinum thermometer, relative to its resistance at 0 degC.
 *
 *   R/R0 = 1 + A t + B t^2 + C (t - 100 degC) t^3   below 0 degC
 *   R/R0 = 1 + A t + B t^2                          from 0 degC
 *
 * Symbols  t temperature, degC; R/R0 ratio, 1; A 1/degC; B 1/degC^2; C 1/degC^4
 * Source   IEC 60751 (2008 and 2022 editions), clause 4.2 (number from memory)
 * Valid    -200 degC to 850 degC
 * Throws   nothing
 */
export function callendarVanDusenRatio({ a, b, c }: CallendarVanDusen, t: number): number {
  const above = 1 + t * (a + t * b)
  return t < 0 ? above + c * (t - 100) * t * t * t : above
}

/**
 * Slope d(R/R0)/dt of the Callendar-Van Dusen relation.
 *
 * Symbols  t temperature, degC; slope in 1/K; A 1/degC; B 1/degC^2; C 1/degC^4
 * Source   derivative of IEC 60751 (2008 and 2022 editions), clause 4.2 (number from memory)
 * Valid    -200 degC to 850 degC
 * Throws   nothing
 */
export function callendarVanDusenSlope({ a, b, c }: CallendarVanDusen, t: number): number {
  const above = a + 2 * b * t
  return t < 0 ? above + c * t * t * (4 * t - 300) : above
}

/**
 * Temperature of a platinum thermometer from its ratio to the resistance at 0 degC: the quadratic solved from 0 degC
 * up, Newton on the quartic below.
 *
 *   t = 2 (1 - r) / (-A - sqrt(A^2 - 4 B (1 - r)))  from 0 degC
 *
 * Symbols  r = R/R0, 1; t temperature, degC; A 1/degC; B 1/degC^2; C 1/degC^4
 * Source   IEC 60751 (2008 and 2022 editions), clause 4.2 (number from memory); the root in the form that loses no digits near 0 degC
 * Valid    R/R0 of -200 degC to 850 degC; extrapolates to about -240 degC and to the top of the parabola
 * Throws   nothing; NaN where there is no temperature
 */
export function callendarVanDusenTemperature(relation: CallendarVanDusen, r: number): number {
  const { a, b, c } = relation
  const t = (-2 * (1 - r)) / (a + Math.sqrt(a * a - 4 * b * (1 - r)))
  if (r >= 1 || c === 0 || !Number.isFinite(t)) return t
  let x = t
  for (let i = 0; i < 50; i++) {
    const step = (r - callendarVanDusenRatio(relation, x)) / callendarVanDusenSlope(relation, x)
    x += step
    if (Math.abs(step) < 1e-10) return x
  }
  return Number.NaN
}

/**
 * A platinum thermometer by IEC 60751 or with its own Callendar-Van Dusen coefficients, as a relation between R/R0
 * and temperature.
 *
 * Symbols  R resistance, ohm; R0 resistance at 0 degC, ohm; t temperature, degC
 * Source   IEC 60751 (2008 and 2022 editions), clause 4.2 (number from memory)
 * Valid    -200 degC to 850 degC, or the conversion's own `range`; C is 0 for an own relation that gives none
 * Throws   nothing
 */
export function callendarVanDusenSensor(
  conversion: Iec60751Conversion | CallendarVanDusenConversion,
): Sensor {
  const standard = conversion.kind === 'iec60751'
  const relation: CallendarVanDusen = {
    a: Number(conversion.a ?? IEC60751_A),
    b: Number(conversion.b ?? IEC60751_B),
    c: Number(conversion.c ?? (standard ? IEC60751_C : 0)),
  }
  const r0 = Number(conversion.r0 ?? IEC60751_R0)
  return {
    kind: conversion.kind,
    signal: 'ratio',
    scale: { name: 'r0', ohm: r0, u: conversion.uR0 ?? 0 },
    lowC: conversion.range?.[0] ?? IEC60751_LOW_C,
    highC: conversion.range?.[1] ?? IEC60751_HIGH_C,
    reachC: REACH_C,
    rangeOf: conversion.range
      ? 'this calibration'
      : standard
        ? 'IEC 60751'
        : 'the Callendar-Van Dusen relation',
    temperature: (r) => callendarVanDusenTemperature(relation, r),
    signalAt: (t) => callendarVanDusenRatio(relation, t),
    slope: (t) => callendarVanDusenSlope(relation, t),
    // Of R/R0: an R0 that is too small raises the ratio that a resistance gives as a larger relation would.
    gradient: (t) => ({
      r0: callendarVanDusenRatio(relation, t) / r0,
      a: t,
      b: t * t,
      c: t < 0 ? (t - 100) * t * t * t : 0,
    }),
    ...(conversion.covariance && { covariance: conversion.covariance satisfies Covariance }),
  }
}
