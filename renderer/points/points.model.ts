import { powerOfTen } from '../../app/base/powers.ts'
import type { FitView } from '../../app/contract/studies.ts'
import { type ChannelUnit, celsiusAs, perKelvin, quantityOfUnit } from '../../app/live/channel-unit.ts'
import type { Point, PointChannel } from '../../app/records/point.ts'
import { decimalsShown } from '../signs/digits.ts'
import { type Measured, measured } from '../text/measured.ts'

/** A cell before anything is known of its channel's bench. */
type OwnUnit = ChannelUnit | undefined

export interface CellView {
  value: number | null
  u: number | null
  unit: string
  /** What is pulled at it. */
  field: 'signal' | 't90C' | 'sdMk' | 'driftMkPerMin' | 'referenceC'
}

/** Standard uncertainty of the mean signal from the scatter of its readings, in the signal's unit. */
function signalUncertainty(used: PointChannel): number | null {
  const { signal, rawMean, rawSd, nEffective } = used
  if (signal === null || rawMean === 0 || !(nEffective > 0) || !(rawSd > 0)) return null
  return (Math.abs(signal / rawMean) * rawSd) / Math.sqrt(nEffective)
}

function lessReference({ t90C, referenceC, uTypeAMk }: PointChannel): CellView {
  const value = t90C !== null && referenceC !== null ? (t90C - referenceC) * 1000 : null
  return { value, u: uTypeAMk, unit: 'mK', field: 't90C' }
}

/**
 * A channel in the unit its bench shows it in. A temperature asks for a calibration of its own; where the point has none, the
 * signal stands there.
 */
function inOwnUnit(used: PointChannel, own: OwnUnit): CellView {
  const unit = own ?? (used.rawUnit === 'mV' ? 'mV' : 'ohm')
  if (quantityOfUnit(unit) === 'temperature' && used.t90C !== null) {
    const u = kelvin(used.uTypeAMk)
    return {
      value: celsiusAs(used.t90C, unit),
      u: u === null ? null : u * perKelvin(unit),
      unit,
      field: 't90C',
    }
  }
  if (unit !== 'ratio' || used.rawUnit !== 'ratio') return signalOf(used)
  const { rawMean, rawSd, nEffective } = used
  return { value: rawMean, u: nEffective > 0 ? rawSd / Math.sqrt(nEffective) : null, unit, field: 'signal' }
}

const signalOf = (used: PointChannel): CellView => ({
  value: used.signal,
  u: signalUncertainty(used),
  unit: used.rawUnit === 'mV' ? 'mV' : 'ohm',
  field: 'signal',
})

const kelvin = (mk: number | null): number | null => (mk === null ? null : mk / 1000)

/** The columns that a table of points can show: a column is one row here. */
export const CELLS = [
  {
    id: 'own',
    name: 'Own unit',
    about: 'Each channel in the unit that its bench gives it; the signal where it has no calibration',
    of: inOwnUnit,
  },
  {
    id: 'difference',
    name: 'Less reference',
    about: 'Own temperature less that of the reference; needs a calibration of its own',
    of: lessReference,
  },
  {
    id: 't90C',
    name: 't90',
    about: 'Own temperature; needs a calibration of its own',
    of: ({ t90C, uTypeAMk }) => ({ value: t90C, u: kelvin(uTypeAMk), unit: 'degC', field: 't90C' }),
  },
  {
    id: 'signal',
    name: 'Signal',
    about: 'Resistance or voltage, the mean of its readings',
    of: signalOf,
  },
  {
    id: 'referenceC',
    name: 'Reference',
    about: 'Temperature of the reference at the times of its readings',
    of: ({ referenceC }) => ({ value: referenceC, u: null, unit: 'degC', field: 'referenceC' }),
  },
  {
    id: 'sdMk',
    name: 'Standard deviation',
    about: 'Of its readings',
    of: ({ sdMk }) => ({ value: sdMk, u: null, unit: 'mK', field: 'sdMk' }),
  },
  {
    id: 'driftMkPerMin',
    name: 'Drift',
    about: 'Slope of its readings',
    of: ({ driftMkPerMin }) => ({ value: driftMkPerMin, u: null, unit: 'mK/min', field: 'driftMkPerMin' }),
  },
] as const satisfies readonly {
  id: string
  name: string
  about: string
  of: (used: PointChannel, own: OwnUnit) => CellView
}[]
export type Cell = (typeof CELLS)[number]['id']

export const cellOf = (used: PointChannel, cell: Cell, own?: OwnUnit): CellView =>
  CELLS.find(({ id }) => id === cell)!.of(used, own)

/** A field of a fitted point that can be pulled. */
export type PullField = 'residualMk' | 'expandedMk' | 'signal'

/** Digits of a coefficient that its uncertainty leaves something to say, with one more. */
export const coefficientDigits = ({ value, u }: { value: number; u: number }): number =>
  u > 0 && value !== 0 ? Math.min(12, Math.max(3, powerOfTen(Math.abs(value) / u) + 2)) : 6

/** A coefficient as the report quotes it: both are of one analysis. */
export const coefficientMeasured = ({ value, u, k, unit }: FitView['coefficients'][number]): Measured =>
  measured(value, unit, u, k)

/** Channels that have nothing to show in any point, by name: most often for want of a calibration. */
export function withoutValues(
  points: readonly Point[],
  channels: readonly { id: string; name: string; role: string }[],
  cell: Cell,
): string[] {
  return channels
    .filter(({ role }) => cell !== 'difference' || role !== 'reference')
    .filter(({ id }) => {
      const all = points.flatMap((point) => point.channels.filter(({ channel }) => channel === id))
      return all.length > 0 && all.every((used) => cellOf(used, cell).value === null)
    })
    .map(({ name }) => name)
}

/** What a person should know before signing: what is not as it was planned. */
export function doubts(points: readonly Point[], fits: readonly FitView[]): string[] {
  const count = (n: number, one: string, many: string) => (n === 0 ? [] : [n === 1 ? one : `${n} ${many}`])
  const refused = fits.filter(({ refusal }) => refusal !== null)
  const failed = fits.filter((fit) => fit.points.some(({ conformity }) => conformity?.includes('fail')))
  return [
    ...count(
      points.filter(({ marks }) => isLeftOut(marks)).length,
      'One point is left out.',
      'points are left out.',
    ),
    ...count(
      points.filter(({ settled }) => !settled).length,
      'One point was taken before it was settled.',
      'points were taken before they were settled.',
    ),
    ...refused.map(({ name, refusal }) => `${name} has no result: ${refusal}`),
    ...failed.map(({ name }) => `${name} does not conform at every point.`),
  ]
}

/** Decimals of a column's longest number. */
export function columnDecimals(points: readonly Point[], channel: string, cell: Cell, own?: OwnUnit): number {
  return points.reduce((most, point) => {
    const used = point.channels.find((c) => c.channel === channel)
    if (!used) return most
    const { u, unit, value } = cellOf(used, cell, own)
    return value === null ? most : Math.max(most, decimalsShown(u, unit))
  }, 0)
}

const MODEL_WORDS: Record<string, string> = {
  its90: 'ITS-90',
  'callendar-van-dusen': 'Callendar-Van Dusen',
  'steinhart-hart': 'Steinhart-Hart',
  iec60751: 'IEC 60751',
  thermocouple: 'Deviation from the type’s function',
  polynomial: 'polynomial',
}
/** A model as people call it. */
export const modelWords = (model: string): string => MODEL_WORDS[model] ?? model

export const KIND_WORDS: Record<Point['kind'], string> = {
  comparison: '',
  'wtp-before': 'water triple point, before',
  'wtp-after': 'water triple point, after',
  plateau: 'plateau',
  lift: 'lifted',
  'self-heating': 'self-heating',
}

export const isLeftOut = (marks: readonly string[]): boolean => marks.includes('rejected-by-person')

/** What an uncertainty from one point's readings covers. */
export const ALONE = 'scatter of the readings alone'

/** A cell's number as it is quoted alone. The difference has the whole budget of its fit behind it, where there is one. */
export function cellMeasured(
  used: PointChannel,
  cell: Cell,
  fitted: FitView['points'][number] | undefined,
  own?: OwnUnit,
): Measured | null {
  const { value, u, unit } = cellOf(used, cell, own)
  if (value === null) return null
  if (cell === 'difference' && fitted) return { value, unit, expanded: fitted.expandedMk, k: fitted.k }
  if (cell === 'sdMk') return measured(value, unit, null, 2, 'standard deviation of the readings')
  return measured(value, unit, u, 2, u === null ? undefined : ALONE)
}
