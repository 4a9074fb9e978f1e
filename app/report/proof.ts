import { z } from 'zod'
import type { Point, PointChannel } from '../records/point.ts'
import { StoredReport } from './content.ts'
import type { ReportContent } from './content-types.ts'

/** One thing that is not the same, or is there on one side only. */
export interface Difference {
  readonly key: string
  readonly stored: string
  readonly computed: string
}

/** Value, uncertainty and k as they were printed. */
const StatedDigits = z.tuple([z.string(), z.string().nullable(), z.string().nullable()])
type StatedDigits = z.output<typeof StatedDigits>

/** What a sign-off keeps of the report that was signed, so that the file itself can say later whether it still holds. */
export const SignedNumbers = z.strictObject({
  number: z.string(),
  version: z.int().positive(),
  /** The choices under which the numbers were computed. */
  settings: StoredReport.shape.settings,
  /** Key to value, uncertainty and k as they were printed. */
  numbers: z.record(z.string(), StatedDigits),
})
export type SignedNumbers = z.output<typeof SignedNumbers>

/** Facts for the sign-off event: `data.report`. */
export function signedNumbers(report: ReportContent): SignedNumbers {
  return {
    number: report.number,
    version: report.version,
    settings: {
      ...report.settings,
      models: { ...report.settings.models },
      templates: [...report.settings.templates],
    },
    numbers: Object.fromEntries(
      Object.entries(report.numbers).map(([key, n]) => [key, [n.value, n.uncertainty, n.k]]),
    ),
  }
}

/** Compares two maps of printed numbers digit by digit. */
export function compareNumbers(
  stored: SignedNumbers['numbers'],
  computed: SignedNumbers['numbers'],
): Difference[] {
  const words = (n: readonly (string | null)[] | undefined) =>
    n === undefined ? 'absent' : n.filter((part) => part !== null).join(' ± ')
  return [...new Set([...Object.keys(stored), ...Object.keys(computed)])]
    .filter((key) => words(stored[key]) !== words(computed[key]))
    .map((key) => ({ key, stored: words(stored[key]), computed: words(computed[key]) }))
}

const isRecord = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === 'object' && value !== null && !Array.isArray(value)

const wordsOf = (value: unknown): string => {
  if (value === undefined) return 'absent'
  const text = typeof value === 'string' ? value : JSON.stringify(value)
  return text.length > LONGEST_SHOWN ? `${text.slice(0, LONGEST_SHOWN)}…` : text
}

/** Characters of a text that differs which are shown. */
const LONGEST_SHOWN = 120

/** Every place at which two pieces of JSON differ, named by its path. */
export function compareJson(stored: unknown, computed: unknown, place = ''): Difference[] {
  const under = (key: string) => (place === '' ? key : `${place}.${key}`)
  if (isRecord(stored) && isRecord(computed)) {
    return [...new Set([...Object.keys(stored), ...Object.keys(computed)])].flatMap((key) =>
      compareJson(stored[key], computed[key], under(key)),
    )
  }
  if (Array.isArray(stored) && Array.isArray(computed)) {
    return Array.from({ length: Math.max(stored.length, computed.length) }, (_, i) =>
      compareJson(stored[i], computed[i], under(String(i))),
    ).flat()
  }
  return Object.is(stored, computed)
    ? []
    : [{ key: place, stored: wordsOf(stored), computed: wordsOf(computed) }]
}

/**
 * A whole stored report against the one computed: the digits of every number by key, and everything else it says (names,
 * units, unrounded values, texts, tables, plots, settings, threads) place by place.
 */
export function compareReports(stored: unknown, computed: unknown): Difference[] {
  const digits = (report: unknown) => {
    const { numbers } = isRecord(report) ? report : { numbers: undefined }
    return Object.fromEntries(
      Object.entries(isRecord(numbers) ? numbers : {}).map(([key, n]): [string, StatedDigits] => {
        const { value, uncertainty, k } = isRecord(n) ? n : {}
        return [key, [String(value), uncertainty as string | null, k as string | null]]
      }),
    )
  }
  const numbers = compareNumbers(digits(stored), digits(computed))
  const named = new Set(numbers.map(({ key }) => key))
  const rest = compareJson(stored, computed).filter(({ key }) => {
    const [, number] = /^numbers\.(.+?)(?:\.(?:value|uncertainty|k))?$/.exec(key) ?? []
    return number === undefined || !named.has(number)
  })
  return [...numbers, ...rest]
}

const PROVED = [
  'firstSeq',
  'lastSeq',
  'leftOut',
  'n',
  'rawMean',
  'rawSd',
  'rawUnit',
  'nEffective',
  'rawDriftPerS',
  'uRawDriftPerS',
  'signal',
  'signalZeroCurrent',
  'selfHeatingMk',
  'uSelfHeatingMk',
  't90C',
  'referenceC',
  'uTypeAMk',
  'sdMk',
  'driftMkPerMin',
] as const satisfies readonly (keyof PointChannel)[]

const PROVED_OF_POINT = ['startUtcUs', 'endUtcUs'] as const satisfies readonly (keyof Point)[]

/** Compares a stored point with the one made again from its readings, number by number. */
export function comparePoints(stored: Point, computed: Point | null): Difference[] {
  if (!computed) return [{ key: `point.${stored.id}`, stored: 'a point', computed: 'no readings' }]
  const whole = PROVED_OF_POINT.filter((what) => !Object.is(stored[what], computed[what])).map((what) => ({
    key: `point.${stored.id}.${what}`,
    stored: String(stored[what]),
    computed: String(computed[what]),
  }))
  const channels = stored.channels.flatMap((own) => {
    const other = computed.channels.find((c) => c.channel === own.channel)
    return PROVED.filter((what) => !Object.is(own[what], other?.[what])).map((what) => ({
      key: `point.${stored.id}.${own.channel}.${what}`,
      stored: String(own[what]),
      computed: String(other?.[what] ?? 'absent'),
    }))
  })
  return [...whole, ...channels]
}
