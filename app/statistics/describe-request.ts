import { z } from 'zod'
import { zip } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { type AllanKind, allanDeviations } from './allan.ts'
import { StatisticsError } from './errors.ts'
import { lineAnswerer, NumberOrText } from './request.ts'
import { markSpikes } from './spikes.ts'
import { describeSamples, describeWindow, type WindowStatistics } from './window.ts'

const ALLAN_KINDS = [
  'overlapping',
  'plain',
  'modified',
  'time',
  'hadamard',
  'overlapping-hadamard',
  'total',
] as const satisfies readonly AllanKind[]

export const DescribeRequest = z.object({
  id: z.unknown().optional(),
  /** null where a value is missing. */
  values: z.array(z.union([NumberOrText, z.null()], { error: 'not a number' }), {
    error: 'values is an array of numbers',
  }),
  /** Seconds between values; 1 when left out. */
  interval: NumberOrText.optional(),
  /** In place of the interval: the time of each value, s. */
  times: z.array(NumberOrText).optional(),
  /** 1 or true where a value is to be left out. */
  marks: z.array(z.union([z.boolean(), z.number()])).optional(),
  /** Leave suspected spikes out: true, or the rule's limit in robust standard deviations. */
  spikes: z
    .union([
      z.boolean(),
      z.object({
        limit: z.number().positive().optional(),
        neighbours: z.int().positive().optional(),
        resolution: z.number().nonnegative().optional(),
      }),
    ])
    .optional(),
  allan: z.enum(ALLAN_KINDS, { error: `allan is one of ${ALLAN_KINDS.join(', ')}` }).optional(),
})
export type DescribeRequest = z.infer<typeof DescribeRequest>

export interface DescribeAnswer extends Omit<WindowStatistics, 'durationS'> {
  readonly duration: number
  /** Places (from 0) of suspected spikes, whether or not they were left out. */
  readonly spikes: readonly number[]
  readonly allan: readonly { tau: number; deviation: number; terms: number }[]
}

/**
 * Statistics of one series as a request states it; every value is taken as the decimal that was written.
 *
 * Symbols  request, see DescribeRequest; answer, the fields of WindowStatistics with `allan` and `spikes`
 * Source   describeWindow, allanDeviations, markSpikes
 * Valid    at least one value; Allan deviations are of evenly spaced values and are left out where `times` is given
 * Throws   StatisticsError as those functions
 */
export function describeSeries(request: DescribeRequest): DescribeAnswer {
  const { times, marks: given, spikes } = request
  const values = Float64Array.from(request.values, (value) => value ?? Number.NaN)
  if (given !== undefined && given.length !== values.length) {
    throw new StatisticsError(
      'length-mismatch',
      said('marks-of-another-number', { marks: given.length, n: values.length }),
      {
        marks: given.length,
        values: values.length,
      },
    )
  }
  const suspected = markSpikes(values, typeof spikes === 'object' ? definedOnly(spikes) : {})
  const leaveSpikes = spikes === true || typeof spikes === 'object'
  const marks = values.map((value, i) =>
    !Number.isFinite(value) || given?.[i] || (leaveSpikes && suspected[i] === 1) ? 1 : 0,
  )
  const options = { marks, decimal: true }
  const interval = request.interval ?? 1
  const { durationS, ...statistics } =
    times === undefined ? describeWindow(values, interval, options) : describeSamples(times, values, options)
  const kind = request.allan ?? 'overlapping'
  const allan =
    times === undefined
      ? allanDeviations(values, interval, marks.includes(1) ? { kind, marks } : { kind }).map(
          ({ tau, deviation, terms }) => ({ tau, deviation, terms }),
        )
      : []
  return {
    ...statistics,
    duration: durationS,
    spikes: zip(suspected, values).flatMap(([mark, value], i) =>
      mark === 1 && Number.isFinite(value) ? [i] : [],
    ),
    allan,
  }
}

function definedOnly<T extends object>(options: T): { [K in keyof T]: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(options).filter(([, value]) => value !== undefined)) as {
    [K in keyof T]: Exclude<T[K], undefined>
  }
}

/**
 * Answers one line of `describe`.
 *
 * Symbols  line, its number
 * Source   lineAnswerer
 * Valid    any text
 * Throws   nothing
 */
export const answerDescribeLine = lineAnswerer(DescribeRequest, describeSeries)
