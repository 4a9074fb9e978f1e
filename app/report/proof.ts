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

/** What a sign-off keeps of the report that was signed, so that the file itself can say later whether it still holds. */
export const SignedNumbers = z.strictObject({
  number: z.string(),
  version: z.int().positive(),
  /** The choices under which the numbers were computed. */
  settings: StoredReport.shape.settings,
  /** Key to value, uncertainty and k as they were printed. */
  numbers: z.record(z.string(), z.tuple([z.string(), z.string().nullable(), z.string().nullable()])),
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

const PROVED = [
  'n',
  'rawMean',
  'rawSd',
  'rawUnit',
  'nEffective',
  'rawDriftPerS',
  'uRawDriftPerS',
  'signal',
  'referenceC',
  'uTypeAMk',
  'sdMk',
  'driftMkPerMin',
] as const satisfies readonly (keyof PointChannel)[]

/** Compares a stored point with the one made again from its readings, number by number. */
export function comparePoints(stored: Point, computed: Point | null): Difference[] {
  if (!computed) return [{ key: `point.${stored.id}`, stored: 'a point', computed: 'no readings' }]
  return stored.channels.flatMap((own) => {
    const other = computed.channels.find((c) => c.channel === own.channel)
    return PROVED.filter((what) => !Object.is(own[what], other?.[what])).map((what) => ({
      key: `point.${stored.id}.${own.channel}.${what}`,
      stored: String(own[what]),
      computed: String(other?.[what] ?? 'absent'),
    }))
  })
}
