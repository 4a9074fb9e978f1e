import { z } from 'zod'
import { first } from '../base/lists.ts'
import {
  Conversion,
  Numeral,
  type PolynomialConversion,
  Quantity,
  type TableConversion,
} from '../kinds/conversion.ts'
import { asTold, said } from '../messages/said.ts'
import { type ConversionMark, type Prepared, prepare } from './convert.ts'
import { D, decimal, decimalText } from './decimal.ts'
import { ThermometryError } from './errors.ts'
import { exactPlain, exactToSignal, exactToTemperature } from './exact.ts'
import { plainRelation } from './plain.ts'

/** One request: what is given, what is wanted, and the conversion between them. Further fields are left alone. */
export const ConvertRequest = z.object({
  id: z.unknown().optional(),
  from: Quantity,
  to: Quantity,
  value: Numeral,
  unit: z.string().optional(),
  conversion: Conversion,
  exact: z.boolean().optional(),
  /** Standard uncertainty of `value`, in its unit. */
  uncertainty: z.number().nonnegative().optional(),
})
export type ConvertRequest = z.infer<typeof ConvertRequest>

export interface ConvertAnswer {
  readonly id: unknown
  readonly value: number | string
  readonly unit: string
  readonly marks: readonly ConversionMark[]
  /** Standard uncertainty of the value, in its unit, where anything that went in carries one. */
  readonly uncertainty?: number
  readonly message?: string
}
export interface ConvertRefusal {
  readonly id: unknown
  readonly error: string
}

const UNITS: Readonly<Record<Quantity, readonly string[]>> = {
  ratio: ['1', 'ratio'],
  resistance: ['ohm', 'Ω', 'Ohm'],
  voltage: ['mV'],
  temperature: ['degC', '°C', 'C', 'K'],
}

function checkedUnit({ unit, from, to }: ConvertRequest): string | undefined {
  if (unit === undefined) return undefined
  if ([from, to].some((quantity) => UNITS[quantity].includes(unit))) return unit
  throw new ThermometryError('wrong-quantity', said('unit-of-neither-side', { unit, from, to }), { unit })
}

/** An answer before its unit and its identity are put to it. */
interface Found {
  readonly value: number
  readonly text?: string
  readonly marks: readonly ConversionMark[]
  readonly message?: string
  readonly uncertainty: number
}

function betweenRatioAndResistance(request: ConvertRequest, prepared: Prepared): Found {
  const { from, value, conversion, uncertainty = 0 } = request
  const { scale } = prepared.sensor
  if (prepared.sensor.signal !== 'ratio') {
    throw new ThermometryError('wrong-quantity', said('conversion-without-ratio', { kind: conversion.kind }))
  }
  if (!scale) {
    throw new ThermometryError('missing-value', said('ratio-needs-rwtp', {}))
  }
  const written =
    conversion.kind === 'its90' ? conversion.rWtp : 'r0' in conversion ? conversion.r0 : undefined
  const ohm = decimal(written ?? scale.ohm)
  const number = Number(value)
  const text = decimalText(from === 'ratio' ? decimal(value).times(ohm) : decimal(value).div(ohm))
  return from === 'ratio'
    ? {
        value: number * scale.ohm,
        text,
        marks: [],
        uncertainty: Math.hypot(uncertainty * scale.ohm, number * scale.u),
      }
    : {
        value: number / scale.ohm,
        text,
        marks: [],
        uncertainty: Math.hypot(uncertainty, (number * scale.u) / scale.ohm) / scale.ohm,
      }
}

/** A polynomial or table between two signals, neither of them a temperature. */
function betweenSignals(request: ConvertRequest, conversion: PolynomialConversion | TableConversion): Found {
  const { from, to, value, exact, uncertainty = 0 } = request
  const relation = plainRelation(conversion)
  const forward = (relation.from ?? from) === from && (relation.to ?? to) === to
  const backward = (relation.from ?? to) === to && (relation.to ?? from) === from
  if (!forward && !backward) {
    throw new ThermometryError(
      'wrong-quantity',
      said('conversion-goes-elsewhere', {
        kind: conversion.kind,
        from: relation.from ?? 'a signal',
        to: relation.to ?? 'a temperature',
        given: from,
        wanted: to,
      }),
    )
  }
  const number = Number(value)
  const candidates = forward ? [] : relation.xs(number)
  const x = forward ? number : (candidates[0] ?? Number.NaN)
  const slope = relation.slope(x)
  const start = forward ? relation.y(x) : x
  const path = exact ? exactPlain(conversion) : undefined
  const digits = path && (forward ? path.y(decimal(value)) : path.x(decimal(value), x, slope))
  const inside = x >= relation.low && x <= relation.high
  const others = candidates.slice(1).filter((other) => other >= relation.low && other <= relation.high)
  const marks: ConversionMark[] = []
  if (!inside) marks.push('outside-range')
  if (others.length > 0) marks.push('two-answers')
  const words = [
    ...(inside
      ? []
      : [`${x} is outside ${relation.low} to ${relation.high}, the range of ${relation.words}.`]),
    ...(others.length > 0 ? [`${[x, ...others].join(' and ')} fit; the first is given.`] : []),
  ]
  return {
    value: start,
    ...(digits?.isFinite() && { text: decimalText(digits) }),
    marks,
    ...(words.length > 0 && { message: words.join(' ') }),
    uncertainty: Math.abs(forward ? slope : 1 / slope) * uncertainty,
  }
}

function find(request: ConvertRequest, unit: string | undefined): Found {
  const { from, to, value, conversion, exact, uncertainty } = request
  if (from === to) {
    throw new ThermometryError('wrong-quantity', said('from-and-to-alike', { from }))
  }
  if (from !== 'temperature' && to !== 'temperature') {
    return conversion.kind === 'polynomial' || conversion.kind === 'table'
      ? betweenSignals(request, conversion)
      : betweenRatioAndResistance(request, prepare(conversion))
  }
  const prepared = prepare(conversion)
  const inputs = uncertainty === undefined ? {} : { reading: uncertainty }
  if (to === 'temperature') {
    const options = { quantity: from }
    const converted = exact
      ? exactToTemperature(conversion, value, options, prepared)
      : prepared.toTemperature(Number(value), options)
    return {
      ...converted,
      uncertainty: prepared.uncertainty(Number(value), inputs, options).standardUncertainty,
    }
  }
  const celsius = unit === 'K' ? decimal(value).minus(273.15).toString() : value
  const options = { quantity: to }
  const converted = exact
    ? exactToSignal(conversion, celsius, options, prepared)
    : prepared.toSignal(Number(celsius), options)
  const { standardUncertainty } = prepared.signalUncertainty(Number(celsius), inputs, options)
  return { ...converted, uncertainty: standardUncertainty }
}

/** Whether anything that goes into a conversion carries an uncertainty. */
function carriesUncertainty({ uncertainty, conversion }: ConvertRequest): boolean {
  if (uncertainty !== undefined) return true
  if ('covariance' in conversion && conversion.covariance) return true
  switch (conversion.kind) {
    case 'its90':
      return conversion.uRWtp !== undefined || conversion.joined?.covariance !== undefined
    case 'iec60751':
    case 'callendar-van-dusen':
      return conversion.uR0 !== undefined
    case 'thermocouple':
      return conversion.uReferenceJunction !== undefined
    default:
      return false
  }
}

/**
 * Answers one request for a conversion.
 *
 * Symbols  request, what is given (`from`, `value`, `unit`), what is wanted (`to`) and the conversion between them
 * Source   the source of each kind's own function
 * Valid    every pair of quantities a kind knows; a value outside its range is marked, with the range in `message`
 * Throws   ThermometryError where there is no answer
 */
export function answerRequest(request: ConvertRequest): ConvertAnswer {
  const unit = checkedUnit(request)
  const found = find(request, unit)
  if (!Number.isFinite(found.value)) {
    throw new ThermometryError(
      'no-answer',
      found.message === undefined ? said('no-answer', {}) : asTold(found.message),
    )
  }
  const { to, exact } = request
  const kelvin = to === 'temperature' && unit === 'K'
  const exactText = found.text ?? decimalText(new D(found.value))
  const value = exact
    ? kelvin
      ? decimalText(decimal(exactText).plus(273.15))
      : exactText
    : kelvin
      ? found.value + 273.15
      : found.value
  return {
    id: request.id ?? null,
    value,
    unit: kelvin ? 'K' : first(UNITS[to]),
    marks: found.marks,
    ...(carriesUncertainty(request) &&
      Number.isFinite(found.uncertainty) && { uncertainty: found.uncertainty }),
    ...(found.message !== undefined && { message: found.message }),
  }
}

/** JSON.parse hands the reviver the text each number was written with; the library types do not know it yet. */
type SourceReviver = (key: string, value: unknown, context: { source?: string }) => unknown

/** Fields whose digits count; everything else stays a number. */
const WRITTEN = [
  'rWtp',
  'r0',
  't0',
  'beta',
  'a',
  'b',
  'c',
  'wAluminium',
  'coefficients',
  'referenceJunction',
  'deviation',
  'x',
  'y',
]

/** Numbers with more digits than a double holds, put back as the text they were written with. */
function withWrittenDigits(parsed: Record<string, unknown>, line: string): Record<string, unknown> {
  const keep: SourceReviver = (_, value, context) =>
    typeof value === 'number' && context?.source !== undefined && context.source.length > 15
      ? context.source
      : value
  const written = JSON.parse(line, keep as (key: string, value: unknown) => unknown) as Record<
    string,
    unknown
  >
  const conversion = (numbers: unknown, texts: unknown): unknown => {
    if (typeof numbers !== 'object' || numbers === null || typeof texts !== 'object' || texts === null)
      return numbers
    const from = texts as Record<string, unknown>
    const merged: Record<string, unknown> = { ...numbers }
    for (const key of WRITTEN) if (key in from) merged[key] = from[key]
    if ('joined' in merged) merged.joined = conversion(merged.joined, from.joined)
    return merged
  }
  return {
    ...parsed,
    ...('value' in written && { value: written.value }),
    conversion: conversion(parsed.conversion, written.conversion),
  }
}

function inWords(error: z.ZodError): string {
  return error.issues
    .slice(0, 3)
    .map((issue) => {
      const where = issue.path.length > 0 ? `${issue.path.join('.')}: ` : ''
      return where + issue.message
    })
    .join('; ')
}

/**
 * Answers one line of JSON Lines; never throws, so that a bad line cannot stop the ones after it.
 *
 * Symbols  line, the JSON text of one request; number, its place in the stream, for the words of an error
 * Source   JSON Lines, one value a line; see `ConvertRequest` for its fields
 * Valid    any text
 * Throws   nothing
 */
export function answerLine(line: string, number: number): ConvertAnswer | ConvertRefusal {
  let parsed: unknown
  try {
    parsed = JSON.parse(line)
  } catch (error) {
    return {
      id: null,
      error: `Line ${number} is not JSON: ${error instanceof Error ? error.message : String(error)}`,
    }
  }
  if (typeof parsed !== 'object' || parsed === null || Array.isArray(parsed)) {
    return { id: null, error: `Line ${number} is not a request: a JSON object is wanted.` }
  }
  const fields = parsed as Record<string, unknown>
  const id = fields.id ?? null
  const request = ConvertRequest.safeParse(fields.exact === true ? withWrittenDigits(fields, line) : fields)
  if (!request.success)
    return { id, error: `The request is not complete or not right: ${inWords(request.error)}` }
  try {
    return answerRequest(request.data)
  } catch (error) {
    return { id, error: error instanceof Error ? error.message : String(error) }
  }
}
