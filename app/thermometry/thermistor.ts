import { at } from '../base/lists.ts'
import type { BetaConversion, SteinhartHartConversion } from '../kinds/conversion.ts'
import { ZERO_C_K } from './its90-reference.ts'
import { polynomial, polynomialSlope, realRoots } from './polynomial.ts'
import type { Sensor } from './sensor.ts'

/** Thermistors are followed between these temperatures; what a certificate declares is narrower. */
const REACH_C: readonly [number, number] = [-200, 1000]

/**
 * The powers of ln R that a list of coefficients stands for when none are named.
 *
 * Symbols  count, number of coefficients
 * Source   J. S. Steinhart and S. R. Hart, Deep-Sea Research 15, 497-503 (1968): three terms have powers 0, 1, 3
 * Valid    count >= 2; any count but three means 0 .. count - 1
 * Throws   nothing
 */
export function defaultPowers(count: number): number[] {
  return count === 3 ? [0, 1, 3] : Array.from({ length: count }, (_, i) => i)
}

/**
 * Coefficients by ascending powers of ln R, zero where a power is not used.
 *
 * Symbols  coefficients in 1/K; powers of ln(R/ohm)
 * Source   J. S. Steinhart and S. R. Hart, Deep-Sea Research 15, 497-503 (1968)
 * Valid    one power for each coefficient
 * Throws   nothing
 */
export function ascendingCoefficients(coefficients: readonly number[], powers: readonly number[]): number[] {
  const dense = Array.from({ length: Math.max(...powers) + 1 }, () => 0)
  powers.forEach((power, i) => {
    dense[power] = at(coefficients, i)
  })
  return dense
}

/**
 * Temperature of a thermistor from its resistance.
 *
 *   1/T = sum_k c_k (ln R)^k
 *
 * Symbols  R resistance, ohm; T temperature, kelvin; t = T - 273.15, degC; c_k coefficient of (ln R)^k, 1/K, ascending
 * Source   J. S. Steinhart and S. R. Hart, Deep-Sea Research 15, 497-503 (1968); four terms: powers 0 to 3
 * Valid    R > 0 and the range over which the coefficients were found
 * Throws   nothing; NaN where 1/T is not positive
 */
export function thermistorTemperature(ascending: readonly number[], ohm: number): number {
  const reciprocal = polynomial(ascending, Math.log(ohm))
  return reciprocal > 0 ? 1 / reciprocal - ZERO_C_K : Number.NaN
}

/** ln R from which Newton's rule starts, 8 kilohm, and the widest span searched, 1 microohm to 1 teraohm. */
const TYPICAL_LOG = 9
const LOWEST_LOG = -14
const HIGHEST_LOG = 28

/**
 * Resistance of a thermistor at a temperature: Newton on 1/T = sum_k c_k L^k in L = ln R from a typical thermistor's
 * resistance; where that does not settle, the real root nearest to it.
 *
 * Symbols  t temperature, degC; R resistance, ohm; c_k coefficient of (ln R)^k, 1/K, ascending
 * Source   J. S. Steinhart and S. R. Hart, Deep-Sea Research 15, 497-503 (1968), solved for R
 * Valid    temperatures the coefficients reach with R between 1 microohm and 1 teraohm
 * Throws   nothing; NaN where no resistance gives the temperature
 */
export function thermistorResistance(ascending: readonly number[], t: number): number {
  const reciprocal = 1 / (t + ZERO_C_K)
  let log = TYPICAL_LOG
  for (let i = 0; i < 40; i++) {
    const step = (reciprocal - polynomial(ascending, log)) / polynomialSlope(ascending, log)
    log += Math.max(-3, Math.min(3, step))
    if (Math.abs(step) < 1e-13) return Math.exp(log)
  }
  const shifted = ascending.map((c, i) => (i === 0 ? c - reciprocal : c))
  const roots = realRoots(shifted, LOWEST_LOG, HIGHEST_LOG)
  if (roots.length === 0) return Number.NaN
  return Math.exp(
    roots.reduce((near, root) => (Math.abs(root - TYPICAL_LOG) < Math.abs(near - TYPICAL_LOG) ? root : near)),
  )
}

/**
 * A thermistor with coefficients of powers of ln R.
 *
 * Symbols  R resistance, ohm; t temperature, degC; dR/dt in ohm/K
 * Source   J. S. Steinhart and S. R. Hart, Deep-Sea Research 15, 497-503 (1968)
 * Valid    the conversion's own `range`; without one the relation declares none and marks nothing
 * Throws   nothing
 */
export function steinhartHartSensor(conversion: SteinhartHartConversion): Sensor {
  const coefficients = conversion.coefficients.map(Number)
  const powers = conversion.powers ?? defaultPowers(coefficients.length)
  const ascending = ascendingCoefficients(coefficients, powers)
  return {
    kind: 'steinhart-hart',
    signal: 'resistance',
    lowC: conversion.range?.[0] ?? REACH_C[0],
    highC: conversion.range?.[1] ?? REACH_C[1],
    reachC: REACH_C,
    rangeOf: conversion.range ? 'this calibration' : 'any thermistor',
    temperature: (ohm) => thermistorTemperature(ascending, ohm),
    signalAt: (t) => thermistorResistance(ascending, t),
    slope: (t, ohm) => {
      const kelvin = t + ZERO_C_K
      return -ohm / (kelvin * kelvin * polynomialSlope(ascending, Math.log(ohm)))
    },
    gradient: (_, ohm) => {
      const log = Math.log(ohm)
      const share = -ohm / polynomialSlope(ascending, log)
      return Object.fromEntries(powers.map((power) => [String(power), log ** power * share]))
    },
    ...(conversion.covariance && { covariance: conversion.covariance }),
  }
}

/**
 * Resistance of a thermistor by the beta equation.
 *
 *   R = R0 exp(beta (1/T - 1/T0))
 *
 * Symbols  t temperature, degC; T = t + 273.15; R0 resistance at T0, ohm; beta in kelvin
 * Source   common practice, no source (the two-constant form of a thermistor's relation)
 * Valid    some tens of kelvin around T0, where beta is nearly constant
 * Throws   nothing
 */
export function betaResistance(r0: number, t0: number, beta: number, t: number): number {
  return r0 * Math.exp(beta * (1 / (t + ZERO_C_K) - 1 / (t0 + ZERO_C_K)))
}

/**
 * Temperature of a thermistor by the beta equation.
 *
 *   1/T = 1/T0 + ln(R/R0)/beta
 *
 * Symbols  R resistance, ohm; R0 resistance at T0, ohm; t temperature, degC; beta in kelvin
 * Source   common practice, no source (the two-constant form of a thermistor's relation)
 * Valid    R > 0; some tens of kelvin around T0
 * Throws   nothing; NaN where 1/T is not positive
 */
export function betaTemperature(r0: number, t0: number, beta: number, ohm: number): number {
  const reciprocal = 1 / (t0 + ZERO_C_K) + Math.log(ohm / r0) / beta
  return reciprocal > 0 ? 1 / reciprocal - ZERO_C_K : Number.NaN
}

/**
 * A thermistor by the beta equation.
 *
 * Symbols  R resistance, ohm; t temperature, degC; dR/dt = -beta R/T^2, ohm/K
 * Source   common practice, no source
 * Valid    the conversion's own `range`; without one the relation declares none and marks nothing
 * Throws   nothing
 */
export function betaSensor(conversion: BetaConversion): Sensor {
  const r0 = Number(conversion.r0)
  const t0 = Number(conversion.t0 ?? 25)
  const beta = Number(conversion.beta)
  return {
    kind: 'beta',
    signal: 'resistance',
    lowC: conversion.range?.[0] ?? REACH_C[0],
    highC: conversion.range?.[1] ?? REACH_C[1],
    reachC: REACH_C,
    rangeOf: conversion.range ? 'this calibration' : 'any thermistor',
    temperature: (ohm) => betaTemperature(r0, t0, beta, ohm),
    signalAt: (t) => betaResistance(r0, t0, beta, t),
    slope: (t, ohm) => (-beta * ohm) / ((t + ZERO_C_K) * (t + ZERO_C_K)),
    gradient: (t, ohm) => ({ r0: ohm / r0, beta: ohm * (1 / (t + ZERO_C_K) - 1 / (t0 + ZERO_C_K)) }),
    ...(conversion.covariance && { covariance: conversion.covariance }),
  }
}
