import { zip } from '../base/lists.ts'
import type { Conversion, Quantity } from '../kinds/conversion.ts'
import { said } from '../messages/said.ts'
import { dot } from '../statistics/vectors.ts'
import { ThermometryError } from './errors.ts'
import { callendarVanDusenSensor } from './iec60751.ts'
import { its90Sensor } from './its90.ts'
import { plainSensor } from './plain.ts'
import { RANGE_TOLERANCE_K, type Sensor } from './sensor.ts'
import { betaSensor, steinhartHartSensor } from './thermistor.ts'
import { thermocoupleSensor } from './thermocouple.ts'

/** What a conversion may say of its result. */
export type ConversionMark = 'outside-range' | 'two-answers'

export interface Converted {
  /** degC from `toTemperature`, the signal's unit from `toSignal`; NaN where there is no answer, which is marked. */
  readonly value: number
  readonly marks: readonly ConversionMark[]
  readonly dValueDInput: number
  /** Says in words what a mark means here. */
  readonly message?: string
}

export interface ConvertOptions {
  /** What the signal is, where a thermometer allows more than one; its own quantity when left out. */
  readonly quantity?: Quantity
  /** Thermocouples: temperature of the reference junction, degC, when it is followed by another channel. */
  readonly referenceJunction?: number
}

/** Standard uncertainties of a conversion's inputs; what the conversion itself carries need not be given again. */
export interface UncertaintyInputs {
  /** Of the reading, in its own unit (ohm, 1, mV), or of the temperature, kelvin, when it is the input. */
  readonly reading?: number
  /**
   * Of the reference resistor, relative; it moves a resistance measured as a ratio to it. Left out where R(WTP) was
   * measured against the same resistor: W is then the quotient of two ratios, and Rs cancels.
   */
  readonly rsRelative?: number
  /** Of R(WTP), or of R(0 degC), ohm. */
  readonly rWtp?: number
  /** Of the reference junction, kelvin. */
  readonly referenceJunction?: number
}

export interface Contribution {
  readonly name: string
  readonly standardUncertainty: number
  /** d(result)/d(input). */
  readonly sensitivity: number
  /** |sensitivity| times standardUncertainty, in the unit of the result. */
  readonly contribution: number
}

export interface PropagatedUncertainty {
  readonly standardUncertainty: number
  readonly contributions: readonly Contribution[]
}

/** A conversion made ready for the live path: no schema, no look-up of names, no allocation beyond the answer. */
export interface Prepared {
  readonly kind: Conversion['kind']
  /** The sensor's natural signal; resistance for platinum whose R(WTP) or R(0 degC) is known. */
  readonly signal: Exclude<Quantity, 'temperature'> | 'any'
  readonly lowC: number
  readonly highC: number
  /** Ohm per unit of ratio, where it is known. */
  readonly ohmPerRatio: number | undefined
  readonly sensor: Sensor
  toTemperature(value: number, options?: ConvertOptions): Converted
  /** The value of toTemperature alone, without its slope and what there is to say of it: every reading passes here. */
  temperatureOf(value: number, options?: ConvertOptions): number
  toSignal(t90: number, options?: ConvertOptions): Converted
  /** Uncertainty of the temperature found from `value`. */
  uncertainty(value: number, inputs: UncertaintyInputs, options?: ConvertOptions): PropagatedUncertainty
  /** Uncertainty of the signal expected at a temperature. */
  signalUncertainty(t90: number, inputs: UncertaintyInputs, options?: ConvertOptions): PropagatedUncertainty
}

const NO_MARKS: readonly ConversionMark[] = Object.freeze([])
const OUTSIDE: readonly ConversionMark[] = Object.freeze(['outside-range' as const])
const TWO: readonly ConversionMark[] = Object.freeze(['two-answers' as const])
const BOTH: readonly ConversionMark[] = Object.freeze(['outside-range' as const, 'two-answers' as const])

/**
 * The sensor of a conversion: its formulas in doubles, unmarked.
 *
 * Symbols  conversion as kept in the register; see the sensor of each kind
 * Source   the source of each kind's own function
 * Valid    conversions that their schema accepts
 * Throws   ThermometryError where the coefficients do not make a thermometer
 */
export function sensorOf(conversion: Conversion): Sensor {
  switch (conversion.kind) {
    case 'its90':
      return its90Sensor(conversion)
    case 'iec60751':
    case 'callendar-van-dusen':
      return callendarVanDusenSensor(conversion)
    case 'steinhart-hart':
      return steinhartHartSensor(conversion)
    case 'beta':
      return betaSensor(conversion)
    case 'thermocouple':
      return thermocoupleSensor(conversion)
    case 'polynomial':
    case 'table':
      return plainSensor(conversion)
  }
}

const UNIT_WORDS: Readonly<Record<string, string>> = {
  ratio: '',
  resistance: ' ohm',
  voltage: ' mV',
  any: '',
}
/** Nine significant digits at most: enough to see which end was passed, short enough to read. */
const digits = (value: number) => String(Number(value.toPrecision(9)))

/** Factor from the quantity asked for to the sensor's own signal: 1, or ohm per unit of ratio. */
function scaleFor(sensor: Sensor, quantity: Quantity): number {
  if (quantity === sensor.signal || (sensor.signal === 'any' && quantity !== 'temperature')) return 1
  if (quantity === 'resistance' && sensor.signal === 'ratio') {
    if (sensor.scale) return sensor.scale.ohm
    throw new ThermometryError('missing-value', said('resistance-needs-rwtp', {}), { kind: sensor.kind })
  }
  throw new ThermometryError(
    'wrong-quantity',
    said('conversion-without-quantity', { kind: sensor.kind, quantity }),
    {
      kind: sensor.kind,
      quantity,
    },
  )
}

function outsideWords(sensor: Sensor, t90: number, signal: number): string | undefined {
  const { lowC, highC, signalRange, rangeOf } = sensor
  if (signalRange) {
    const [low, high] = signalRange
    if (signal >= low && signal <= high) return undefined
    const unit = UNIT_WORDS[sensor.signal]
    return `${digits(signal)}${unit} is outside ${digits(low)}${unit} to ${digits(high)}${unit}, the range of ${rangeOf}.`
  }
  if (t90 >= lowC - RANGE_TOLERANCE_K && t90 <= highC + RANGE_TOLERANCE_K) return undefined
  const where = Number.isNaN(t90) ? 'The value gives no temperature and is' : `${digits(t90)} degC is`
  return `${where} outside ${digits(lowC)} degC to ${digits(highC)} degC, the range of ${rangeOf}.`
}

/** A converted value of which something is to be said. */
interface Remarked {
  readonly value: number
  readonly derivative: number
  readonly t90: number
  readonly signal: number
  /** Further values that fit as well. */
  readonly others: readonly number[]
  /** Unit behind such a value, with its space. */
  readonly unit: string
  readonly junctionWords: string | undefined
}

type Forward = Pick<Prepared, 'toTemperature' | 'toSignal'> & {
  /** The sensor's own signal, reference junction included. */
  readonly innerSignal: (value: number, options: ConvertOptions | undefined) => number
  /** Factor from the quantity asked for to the sensor's own signal. */
  readonly scaleOf: (options: ConvertOptions | undefined) => number
}

/** Standard uncertainties of a reading, the scale, the junction and the coefficients, carried through a conversion. Source: JCGM 100:2008, 5.1.2 and 5.2.2. */
function propagation(
  sensor: Sensor,
  natural: Sensor['signal'],
  { toTemperature, toSignal, innerSignal, scaleOf }: Forward,
): Pick<Prepared, 'uncertainty' | 'signalUncertainty'> {
  const { junction } = sensor
  const holdsScale =
    sensor.scale !== undefined && sensor.covariance?.names.includes(sensor.scale.name) === true
  /** dSignal/dinput at constant temperature, in units of the signal's quantity, for every input but the reading. */
  const inputs = (t90: number, given: UncertaintyInputs, options: ConvertOptions | undefined) => {
    const rows: { name: string; u: number; gradient: number }[] = []
    if (sensor.scale && (options?.quantity ?? natural) === 'resistance') {
      const u = given.rWtp ?? (holdsScale ? 0 : sensor.scale.u)
      rows.push({ name: sensor.scale.name, u, gradient: sensor.signalAt(t90) })
    }
    if (junction) {
      const at = options?.referenceJunction ?? junction.t90
      rows.push({
        name: 'referenceJunction',
        u: given.referenceJunction ?? junction.u,
        gradient: -sensor.slope(at, junction.emf(at)),
      })
    }
    return rows.filter(({ u }) => u > 0)
  }
  const coefficientVariance = (
    t90: number,
    signal: number,
    given: UncertaintyInputs,
    options: ConvertOptions | undefined,
  ) => {
    const { covariance } = sensor
    if (!covariance) return 0
    const gradient: Record<string, number> = { ...sensor.gradient(t90, signal) }
    // A ratio does not pass through the scale, and one that was measured anew has an error of its own.
    if (
      holdsScale &&
      sensor.scale &&
      (given.rWtp !== undefined || (options?.quantity ?? natural) !== 'resistance')
    ) {
      gradient[sensor.scale.name] = 0
    }
    const at = options?.referenceJunction ?? junction?.t90
    const atJunction = at === undefined ? {} : sensor.gradient(at, 0)
    const row = covariance.names.map((name) => (gradient[name] ?? 0) - (atJunction[name] ?? 0))
    const sum = zip(row, covariance.matrix).reduce((total, [p, own]) => total + p * dot(row, own), 0)
    return Math.max(0, sum)
  }
  const combine = (contributions: readonly Contribution[]): PropagatedUncertainty => ({
    standardUncertainty: Math.hypot(...contributions.map(({ contribution }) => contribution)),
    contributions,
  })
  const row = (name: string, standardUncertainty: number, sensitivity: number): Contribution => ({
    name,
    standardUncertainty,
    sensitivity,
    contribution: Math.abs(sensitivity) * standardUncertainty,
  })

  const uncertainty = (value: number, given: UncertaintyInputs, options?: ConvertOptions) => {
    const { value: t90, dValueDInput } = toTemperature(value, options)
    const rows: Contribution[] = []
    if (given.reading) rows.push(row('reading', given.reading, dValueDInput))
    if (given.rsRelative) rows.push(row('rs', given.rsRelative, dValueDInput * value))
    for (const { name, u, gradient } of inputs(t90, given, options)) {
      rows.push(row(name, u, -gradient * dValueDInput))
    }
    const coefficients = Math.sqrt(coefficientVariance(t90, innerSignal(value, options), given, options))
    if (coefficients > 0) rows.push(row('coefficients', coefficients, -dValueDInput * scaleOf(options)))
    return combine(rows)
  }

  const signalUncertainty = (t90: number, given: UncertaintyInputs, options?: ConvertOptions) => {
    const { value, dValueDInput } = toSignal(t90, options)
    const rows: Contribution[] = []
    if (given.reading) rows.push(row('temperature', given.reading, dValueDInput))
    for (const { name, u, gradient } of inputs(t90, given, options)) rows.push(row(name, u, gradient))
    const coefficients = Math.sqrt(coefficientVariance(t90, innerSignal(value, options), given, options))
    if (coefficients > 0) rows.push(row('coefficients', coefficients, scaleOf(options)))
    return combine(rows)
  }

  return { uncertainty, signalUncertainty }
}

/**
 * Makes a conversion ready for use, once, so that each reading costs its formula only.
 *
 * Symbols  conversion as kept in the register
 * Source   the source of each kind's own function
 * Valid    conversions that their schema accepts; a value outside the range comes back marked 'outside-range' with the
 *          range in words, and as NaN where the relation cannot be followed that far
 * Throws   ThermometryError where the coefficients do not make a thermometer, or a quantity does not belong to it
 */
export function prepare(conversion: Conversion): Prepared {
  const sensor = sensorOf(conversion)
  const natural = sensor.signal === 'ratio' && sensor.scale ? 'resistance' : sensor.signal
  const naturalScale = natural === 'any' ? 1 : scaleFor(sensor, natural)
  const { lowC, highC, signalRange, junction } = sensor
  const [reachLow, reachHigh] = sensor.reachC
  const ownJunctionMv = junction ? junction.emf(junction.t90) : 0
  const outsideJunction = (t90: number) =>
    !junction || (t90 >= junction.lowC && t90 <= junction.highC)
      ? undefined
      : `The reference junction at ${digits(t90)} degC is outside ${digits(junction.lowC)} degC to ${digits(junction.highC)} degC.`
  const ownJunctionWords = junction && outsideJunction(junction.t90)
  const junctionRemark = (options: ConvertOptions | undefined) =>
    junction && options?.referenceJunction !== undefined
      ? outsideJunction(options.referenceJunction)
      : ownJunctionWords
  const scaleOf = (options: ConvertOptions | undefined) =>
    options?.quantity === undefined || options.quantity === natural
      ? naturalScale
      : scaleFor(sensor, options.quantity)
  const isOutside = (t90: number, signal: number) =>
    signalRange
      ? !(signal >= signalRange[0] && signal <= signalRange[1])
      : !(t90 >= lowC - RANGE_TOLERANCE_K && t90 <= highC + RANGE_TOLERANCE_K)

  /** The sensor's own signal, reference junction included. */
  const innerSignal = (value: number, options: ConvertOptions | undefined) => {
    const signal = value / scaleOf(options)
    if (!junction) return signal
    const at = options?.referenceJunction
    return signal + (at === undefined ? ownJunctionMv : junction.emf(at))
  }

  /** Slow path: something is to be said of the value. */
  const remark = ({ value, derivative, t90, signal, others, unit, junctionWords }: Remarked): Converted => {
    const outside = outsideWords(sensor, t90, signal) ?? junctionWords
    const several =
      others.length > 0
        ? `The relation is not monotonic here: ${[value, ...others].map(digits).join(' and ')}${unit} fit; the first is given.`
        : undefined
    const marks = outside ? (several ? BOTH : OUTSIDE) : several ? TWO : NO_MARKS
    const message = [outside, several].filter((words) => words !== undefined).join(' ')
    return { value, marks, dValueDInput: derivative, ...(message !== '' && { message }) }
  }

  const reachedTemperature = (signal: number) => {
    const t90 = sensor.temperature(signal)
    return t90 >= reachLow && t90 <= reachHigh ? t90 : Number.NaN
  }
  const temperatureOf = (value: number, options?: ConvertOptions): number =>
    reachedTemperature(innerSignal(value, options))

  const toTemperature = (value: number, options?: ConvertOptions): Converted => {
    const scale = scaleOf(options)
    const signal = innerSignal(value, options)
    const junctionWords = junctionRemark(options)
    const t90 = reachedTemperature(signal)
    const derivative = 1 / (sensor.slope(t90, signal) * scale)
    const others = sensor.alternatives
      ? sensor.alternatives(signal).filter((other) => other >= lowC && other <= highC)
      : []
    if (others.length > 0 || junctionWords !== undefined || isOutside(t90, signal)) {
      return remark({ value: t90, derivative, t90, signal, others, unit: ' degC', junctionWords })
    }
    return { value: t90, marks: NO_MARKS, dValueDInput: derivative }
  }

  const toSignal = (t90: number, options?: ConvertOptions): Converted => {
    const scale = scaleOf(options)
    const reached = t90 >= reachLow && t90 <= reachHigh
    const signal = reached ? sensor.signalAt(t90) : Number.NaN
    const derivative = sensor.slope(t90, signal) * scale
    const outside = isOutside(t90, signal)
    const junctionWords = junctionRemark(options)
    const others = sensor.signalAlternatives
      ? sensor
          .signalAlternatives(t90)
          .filter((other) => !signalRange || (other >= signalRange[0] && other <= signalRange[1]))
      : []
    const value = (signal - innerSignal(0, options)) * scale
    if (outside || others.length > 0 || junctionWords !== undefined) {
      const unit = UNIT_WORDS[options?.quantity ?? natural] ?? ''
      return remark({ value, derivative, t90, signal, others, unit, junctionWords })
    }
    return { value, marks: NO_MARKS, dValueDInput: derivative }
  }

  const { uncertainty, signalUncertainty } = propagation(sensor, natural, {
    toTemperature,
    toSignal,
    innerSignal,
    scaleOf,
  })
  return {
    kind: conversion.kind,
    signal: natural,
    lowC,
    highC,
    ohmPerRatio: sensor.scale?.ohm,
    sensor,
    toTemperature,
    temperatureOf,
    toSignal,
    uncertainty,
    signalUncertainty,
  }
}
