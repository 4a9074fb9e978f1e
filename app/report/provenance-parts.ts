import type { Thread } from '../contract/studies.ts'
import type { Conversion } from '../kinds/conversion.ts'
import type { PointChannel } from '../records/point.ts'
import type { Analysis } from '../results/analysis.ts'
import type { ChannelRecord } from '../results/analysis-channel.ts'
import type { BudgetLine, Combined } from '../results/analysis-fit.ts'
import type { ReportContent } from './content-types.ts'

export type Input = Thread['inputs'][number]

export type Unfolded = Pick<Thread, 'formula' | 'source' | 'inputs'> & {
  readonly readings?: Thread['readings']
}

/** A number of the report taken apart one step. */
export interface Loom {
  readonly analysis: Analysis
  readonly report: ReportContent
  /** An input that is itself a number of the report, to be pulled further. */
  pull(key: string, words: string): Input
}

/** An input that is no number of the report itself. */
export const plain = (name: string, value: string | number, unit: string, words: string): Input => ({
  key: null,
  name,
  value: String(value),
  unit,
  words,
})

/** The readings that a thread ends in. */
export const readingsOf = (at: PointChannel): Thread['readings'] => ({
  channel: at.channel,
  firstSeq: at.firstSeq,
  lastSeq: at.lastSeq,
  count: at.n,
})

/** The mean of a point's readings, which ones and how they scattered. */
export const meanInput = (at: PointChannel): Input =>
  plain(
    'Mean of the readings',
    at.rawMean,
    at.rawUnit,
    `${at.n} readings, numbers ${at.firstSeq} to ${at.lastSeq} of channel ${at.channel.toUpperCase()}; ${at.leftOut} left out; ` +
      `standard deviation ${at.rawSd.toPrecision(3)}, effective number ${at.nEffective.toFixed(1)}`,
  )

/** The reference resistor of a channel on the day. */
export function resistorInput(record: ChannelRecord, loom: Loom): Input[] {
  const { resistor } = record
  if (!resistor) return []
  const { calibration } = resistor
  return [
    loom.pull(
      `resistor.${resistor.record.id}.ohm`,
      `certificate ${calibration.certificate} of ${calibration.laboratory}, ${calibration.date}`,
    ),
  ]
}

/** The coefficients of a certificate's conversion. */
export function coefficientInputs(conversion: Conversion, words: string): Input[] {
  const own = (name: string, value: unknown, unit = '1') =>
    value === undefined ? [] : [plain(name, String(value), unit, words)]
  switch (conversion.kind) {
    case 'its90':
      return Object.entries(conversion.coefficients).flatMap(([name, value]) => own(name, value))
    case 'iec60751':
    case 'callendar-van-dusen':
      return [
        ...own('R0', conversion.r0, 'Ω'),
        ...own('A', conversion.a),
        ...own('B', conversion.b),
        ...own('C', conversion.c),
      ]
    case 'steinhart-hart':
      return conversion.coefficients.flatMap((value, i) => own(`A${conversion.powers?.[i] ?? i}`, value))
    case 'polynomial':
      return conversion.coefficients.flatMap((value, i) => own(`c${i}`, value))
    case 'beta':
      return [...own('R0', conversion.r0, 'Ω'), ...own('beta', conversion.beta, 'K')]
    case 'thermocouple':
      return [
        ...own('type', conversion.type),
        ...(conversion.deviation ?? []).flatMap((value, i) => own(`d${i}`, value)),
      ]
    case 'table':
      return own('points', conversion.x.length)
  }
}

/** Where a self-heating correction came from. */
export function selfHeatingWords(from: string): string {
  return (
    {
      pair: 'measured at this point with the currents I and sqrt(2) I',
      'pair-elsewhere': 'measured with the currents I and sqrt(2) I at the nearest other point',
      register: "the register's figure, in proportion to the square of the current",
      unknown: 'not known, none taken off',
    }[from] ?? from
  )
}

/** A line of a budget with its type, distribution and source. */
export const lineInput = (line: BudgetLine): Input =>
  plain(
    line.name,
    line.u.toPrecision(3),
    'mK',
    `Type ${line.kind}, ${line.distribution}, ${line.correlation} between points, ` +
      `${Number.isFinite(line.degreesOfFreedom) ? `${line.degreesOfFreedom.toFixed(1)} degrees of freedom` : 'size taken as known'}; ${line.source}`,
  )

/** An expanded uncertainty: k and the lines under the root. */
export function expanded(budget: Combined, unitOf: (line: BudgetLine) => Input): Unfolded {
  return {
    formula: 'U = k u, u² = sum of the squares of the components, k = t(p, ν_eff)',
    source: 'JCGM 100:2008, 5.1.2, 5.2 and G.4',
    inputs: [
      plain(
        'k',
        budget.k.toFixed(4),
        '1',
        `ν_eff = ${Number.isFinite(budget.degreesOfFreedom) ? budget.degreesOfFreedom.toFixed(1) : '∞'}`,
      ),
      ...budget.lines.filter((l) => l.u > 0).map(unitOf),
    ],
  }
}
