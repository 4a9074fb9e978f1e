import { first, last } from '../base/lists.ts'
import type { ThermocoupleConversion, ThermocoupleType } from '../kinds/conversion.ts'
import { bracketedRoot, polynomial, polynomialSlope } from './polynomial.ts'
import type { Sensor } from './sensor.ts'
import { type ForwardPiece, type InversePiece, THERMOCOUPLES } from './thermocouple-functions.ts'

/**
 * How far beyond a type's range its function is still followed: at most so far, kelvin, and no further than its slope
 * stays above half of that at the end. The result is marked all the same.
 */
const REACH_K = 200
const REACH_STEP_K = 5
/** Followed in any case, so that rounding at the end of a range never leaves it without an answer. */
const REACH_AT_LEAST_K = 0.5
const ABSOLUTE_ZERO_C = -273.15

/** Newton's last step, degC: the next would be its square times the relative curvature, under 1e-11 degC everywhere. */
const LAST_STEP_C = 1e-5

function pieceAt(pieces: readonly ForwardPiece[], t90: number): ForwardPiece {
  for (const piece of pieces) if (t90 < piece.highC) return piece
  return last(pieces)
}

function emfOf({ c, exponential }: ForwardPiece, t90: number): number {
  const smooth = polynomial(c, t90)
  if (!exponential) return smooth
  const [a0, a1, a2] = exponential
  return smooth + a0 * Math.exp(a1 * (t90 - a2) * (t90 - a2))
}

function slopeOf({ c, exponential }: ForwardPiece, t90: number): number {
  const smooth = polynomialSlope(c, t90)
  if (!exponential) return smooth
  const [a0, a1, a2] = exponential
  return smooth + 2 * a0 * a1 * (t90 - a2) * Math.exp(a1 * (t90 - a2) * (t90 - a2))
}

/**
 * Range of a thermocouple type's reference function, degC.
 *
 * Symbols  type, the letter of the thermocouple type
 * Source   NIST Standard Reference Database 60 (NIST Monograph 175, 1993)
 * Valid    types B E J K N R S T
 * Throws   nothing
 */
export function thermocoupleRange(type: ThermocoupleType): readonly [lowC: number, highC: number] {
  const { forward } = THERMOCOUPLES[type]
  return [first(forward).lowC, last(forward).highC]
}

/**
 * Thermocouple reference function: emf against a reference junction at 0 degC.
 *
 *   E = sum_i c_i t90^i, for type K above 0 degC also + a0 exp(a1 (t90 - a2)^2)
 *
 * Symbols  t90 temperature of the measuring junction, degC; E emf, mV
 * Source   NIST Standard Reference Database 60 (NIST Monograph 175, 1993); IEC 60584-1
 * Valid    the range of the type, see `thermocoupleRange`; at a joint of two pieces the upper one holds
 * Throws   nothing
 */
export function thermocoupleEmf(type: ThermocoupleType, t90: number): number {
  return emfOf(pieceAt(THERMOCOUPLES[type].forward, t90), t90)
}

/**
 * Seebeck coefficient of a thermocouple type, dE/dt90.
 *
 * Symbols  t90 temperature, degC; dE/dt90 in mV/K
 * Source   derivative of the reference functions of NIST Standard Reference Database 60
 * Valid    the range of the type
 * Throws   nothing
 */
export function seebeckCoefficient(type: ThermocoupleType, t90: number): number {
  return slopeOf(pieceAt(THERMOCOUPLES[type].forward, t90), t90)
}

/**
 * The published approximate inverse of a type's reference function: a first guess, good to some hundredths of a degree.
 *
 *   t90 = sum_i d_i E^i
 *
 * Symbols  E emf against 0 degC, mV; t90 temperature, degC
 * Source   NIST Standard Reference Database 60 (NIST Monograph 175, 1993)
 * Valid    the emf of the published inverse: from -200 degC (B 250 degC, J -210 degC, R and S -50 degC) up
 * Throws   nothing; NaN outside the published ranges
 */
export function thermocoupleApproximateTemperature(type: ThermocoupleType, emf: number): number {
  return approximate(THERMOCOUPLES[type].inverse, emf)
}

function approximate(pieces: readonly InversePiece[], emf: number): number {
  for (const { lowMv, highMv, d } of pieces) {
    if (emf <= highMv) return emf >= lowMv ? polynomial(d, emf) : Number.NaN
  }
  return Number.NaN
}

/** A thermocouple's own emf function (reference function plus calibration) with what its inverse needs. */
class Thermocouple {
  readonly lowC: number
  readonly highC: number
  /** Where the emf is least: the lower end of the monotonic part. Only type B has it inside the range. */
  readonly turnC: number
  readonly reachC: readonly [number, number]
  readonly #forward: readonly ForwardPiece[]
  readonly #inverse: readonly InversePiece[]
  readonly #deviation: readonly number[]

  constructor(type: ThermocoupleType, deviation: readonly number[]) {
    const { forward, inverse } = THERMOCOUPLES[type]
    this.#forward = forward
    this.#inverse = inverse
    this.#deviation = deviation
    ;[this.lowC, this.highC] = thermocoupleRange(type)
    this.reachC = [Math.max(this.#reach(this.lowC, -1), ABSOLUTE_ZERO_C), this.#reach(this.highC, 1)]
    this.turnC =
      this.slope(this.lowC) < 0 ? bracketedRoot((t) => this.slope(t), this.lowC, this.lowC + 100) : this.lowC
  }

  emf(t90: number): number {
    const reference = emfOf(pieceAt(this.#forward, t90), t90)
    return this.#deviation.length === 0 ? reference : reference + polynomial(this.#deviation, t90)
  }

  slope(t90: number): number {
    const reference = slopeOf(pieceAt(this.#forward, t90), t90)
    return this.#deviation.length === 0 ? reference : reference + polynomialSlope(this.#deviation, t90)
  }

  temperature(emf: number): number {
    let t90 = approximate(this.#inverse, emf)
    if (!Number.isNaN(t90)) {
      for (let i = 0; i < 10; i++) {
        const step = (emf - this.emf(t90)) / this.slope(t90)
        t90 += step
        if (Math.abs(step) < LAST_STEP_C) return t90
      }
    }
    return this.#searched(emf)
  }

  /** Temperatures below the turn that give the same emf. */
  alternatives(emf: number): readonly number[] {
    const t90 = bracketedRoot((t) => this.emf(t) - emf, this.lowC, this.turnC)
    return Number.isFinite(t90) && t90 < this.turnC ? [t90] : []
  }

  #reach(end: number, direction: 1 | -1): number {
    const least = Math.abs(this.slope(end)) / 2
    let t90 = end + direction * REACH_AT_LEAST_K
    for (let far = REACH_STEP_K; far <= REACH_K; far += REACH_STEP_K) {
      if (Math.abs(this.slope(end + direction * far)) < least) break
      t90 = end + direction * far
    }
    return t90
  }

  #searched(emf: number): number {
    const miss = (t: number) => this.emf(t) - emf
    if (miss(this.turnC) <= 0 && miss(this.highC) >= 0) return bracketedRoot(miss, this.turnC, this.highC)
    const [reachLow, reachHigh] = this.reachC
    if (miss(this.highC) < 0) return bracketedRoot(miss, this.highC, reachHigh)
    if (this.turnC > this.lowC) return Number.NaN
    // Below the range the functions turn over somewhere: only the falling part next to the range is followed.
    for (let t = this.lowC; t > reachLow && this.slope(t) > 0; t -= 0.25) {
      const next = Math.max(t - 0.25, reachLow)
      if (miss(next) <= 0) return bracketedRoot(miss, next, t)
    }
    return Number.NaN
  }
}

/**
 * A thermocouple with its reference junction.
 *
 *   E = F(t) - [F(t_ref) - F(0)],   F = reference function of the type + deviation polynomial of the calibration
 *
 * A junction at 0 degC takes nothing off, whatever the function's rounding there: type K's is 2e-9 mV at 0 degC.
 *
 * Symbols  E measured emf, mV; t measuring junction, t_ref reference junction, degC; deviation in mV of t in degC
 * Source   NIST Standard Reference Database 60 (NIST Monograph 175, 1993); law of successive temperatures, common
 *          practice, no source
 * Valid    the range of the type or the conversion's own `range`. Type B is not monotonic below about 42 degC: the
 *          higher temperature is given, the lower one as alternative
 * Throws   nothing
 */
export function thermocoupleSensor(conversion: ThermocoupleConversion): Sensor {
  const deviation = (conversion.deviation ?? []).map(Number)
  const couple = new Thermocouple(conversion.type, deviation)
  return {
    kind: 'thermocouple',
    signal: 'voltage',
    lowC: conversion.range?.[0] ?? couple.lowC,
    highC: conversion.range?.[1] ?? couple.highC,
    reachC: couple.reachC,
    rangeOf: conversion.range ? 'this calibration' : `thermocouple type ${conversion.type}`,
    temperature: (emf) => couple.temperature(emf),
    signalAt: (t90) => couple.emf(t90),
    slope: (t90) => couple.slope(t90),
    gradient: (t90) => Object.fromEntries(deviation.map((_, i) => [String(i), t90 ** i])),
    ...(couple.turnC > couple.lowC && { alternatives: (emf: number) => couple.alternatives(emf) }),
    junction: {
      t90: Number(conversion.referenceJunction ?? 0),
      u: conversion.uReferenceJunction ?? 0,
      lowC: couple.lowC,
      highC: couple.highC,
      emf: (t90) => (t90 === 0 ? 0 : couple.emf(t90) - (deviation[0] ?? 0)),
    },
    ...(conversion.covariance && { covariance: conversion.covariance }),
  }
}
