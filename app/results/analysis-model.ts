import { fitThermometer } from '../fit/fit.ts'
import type { FitModel } from '../fit/fit-model.ts'
import type { Fit } from '../kinds/kind.ts'
import { kindOf } from '../kinds/table.ts'
import { thermocoupleTypeOf } from '../kinds/thermocouple.ts'
import { nominalConversion } from '../live/nominal.ts'
import type { Thermometer } from '../records/register.ts'
import { StatisticsError } from '../statistics/errors.ts'
import { type Prepared, prepare } from '../thermometry/convert.ts'
import { ThermometryError } from '../thermometry/errors.ts'
import { type ChannelRecord, preparedFor } from './analysis-channel.ts'
import type { AnalysisInput, AnalysisOptions } from './analysis-input.ts'

/** The model fitted to a thermometer: the one chosen for the session, the register's, or the usual one of its kind. */
export function modelFor(
  record: ChannelRecord,
  options: AnalysisOptions,
  temperatures: readonly number[],
): FitModel {
  const { thermometer, channel } = record
  const fit = options.models[channel.id] ?? thermometer.fit ?? kindOf(thermometer).fit
  return modelOf(fit, thermometer, options.polynomialDegree, temperatures)
}

function modelOf(
  kind: Fit,
  thermometer: Thermometer,
  degree: number,
  temperatures: readonly number[],
): FitModel {
  switch (kind) {
    case 'its90':
      return { kind }
    case 'callendar-van-dusen':
      // The term below 0 degC needs points well below it; else the standard's own value is held.
      return { kind, ...(temperatures.filter((t) => t < -20).length < 2 && { c: -4.183e-12 }) }
    case 'steinhart-hart':
      return { kind }
    case 'thermocouple': {
      const type = thermocoupleTypeOf(thermometer)
      // Without its letter nobody knows which function it should follow.
      if (type === undefined) return polynomialModel(thermometer, degree, temperatures)
      return { kind, type, degree: Math.min(degree, temperatures.length - 1) }
    }
    case 'polynomial':
      return polynomialModel(thermometer, degree, temperatures)
  }
}

function polynomialModel(
  thermometer: Thermometer,
  degree: number,
  temperatures: readonly number[],
): FitModel {
  return {
    kind: 'polynomial',
    degree: Math.max(1, Math.min(degree, temperatures.length - 1)),
    signal: kindOf(thermometer).signal,
  }
}

const CALLENDAR_UNITS: Readonly<Record<string, string>> = { a: '1/°C', b: '1/°C²', c: '1/°C⁴' }

const POWERS = ['', '', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹']

/** Unit of a coefficient as the report prints it. */
export function unitOfCoefficient(model: FitModel, name: string): string {
  if (name === 'rWtp' || name === 'r0') return 'Ω'
  switch (model.kind) {
    case 'callendar-van-dusen':
      return CALLENDAR_UNITS[name] ?? '1'
    case 'steinhart-hart':
      return '1/K'
    case 'thermocouple':
      return name === '0' ? 'mV' : `mV/°C${POWERS[Number(name)] ?? ''}`
    case 'polynomial':
      return name === '0'
        ? '°C'
        : `°C/${model.signal === 'voltage' ? 'mV' : 'Ω'}${POWERS[Number(name)] ?? ''}`
    case 'its90':
      return '1'
  }
}

/** Degree of a polynomial through a thermometer's own points, which only has to give slopes. */
const POINTS_DEGREE = 2

/** A conversion near the thermometer's own, good for slopes: its calibration, its nominal one, or a line through the points. */
export function nearConversion(record: ChannelRecord, input: AnalysisInput): Prepared | null {
  const own = preparedFor(record)
  if (own) return own
  const nominal = nominalConversion(record.thermometer)
  if (nominal)
    return (kindOf(record.thermometer).slopeFromPoints && ownSlope(record, input)) || prepare(nominal)
  const seen = seenBy(record, input)
  if (seen.length < 2) return null
  const model = {
    kind: 'polynomial',
    degree: Math.min(POINTS_DEGREE, seen.length - 1),
    signal: kindOf(record.thermometer).signal,
  } as const
  return prepare(fitThermometer({ model, points: seen }).conversion)
}

/** What a channel showed at the temperatures of its reference, before any correction. */
function seenBy({ channel }: ChannelRecord, { points }: AnalysisInput) {
  return points.flatMap((point) => {
    const at = point.channels.find((c) => c.channel === channel.id)
    return at && at.signal !== null && at.referenceC !== null
      ? [{ t90C: at.referenceC, signal: at.signal }]
      : []
  })
}

/** The usual relation of its kind through its own points. Null where they do not suffice. */
function ownSlope(record: ChannelRecord, input: AnalysisInput): Prepared | null {
  const { thermometer } = record
  const points = seenBy(record, input)
  const temperatures = points.map(({ t90C }) => t90C)
  const model = modelOf(kindOf(thermometer).fit, thermometer, POINTS_DEGREE, temperatures)
  try {
    return prepare(fitThermometer({ model, points }).conversion)
  } catch (error) {
    if (!(error instanceof StatisticsError || error instanceof ThermometryError)) throw error
    return null
  }
}
