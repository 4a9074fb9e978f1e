import type { Thread } from '../../app/contract/studies.ts'
import type { ChannelView } from '../../app/contract/views.ts'
import type { Point } from '../../app/records/point.ts'
import { type Measured, measured, measuredWords } from '../text/measured.ts'
import { unitSign } from '../text/numbers.ts'
import type { ReportNumbers } from '../text/report-numbers.ts'
import { ALONE, cellOf } from './points.model.ts'

/** What is known beside the thread itself; each may still be on its way. */
export interface Known {
  numbers: ReportNumbers
  points: readonly Point[]
  channels: readonly ChannelView[]
}

/** Which answers of the station tell the uncertainty of a thread's number. */
export const needs = (key: string): 'state' | 'points' | 'report' =>
  key.startsWith('live/') ? 'state' : key.startsWith('point/') ? 'points' : 'report'

const FIELD_IN_REPORT: Record<string, string> = {
  signal: 'signal',
  celsius: 't90',
  residualMk: 'residual',
  deviationMk: 'residual',
  expandedMk: 'expanded',
}

/** A key of a fit by the name that its number has in the report. */
function reportKey(key: string): string {
  const [head, channel, kind, name, field = ''] = key.split('/')
  if (head !== 'fit') return key
  return kind === 'coefficient'
    ? `${channel}.coefficient.${name}`
    : `${channel}.point.${name}.${FIELD_IN_REPORT[field] ?? ''}`
}

/** The value at the front of a thread's words: '3.6 ± 3.6 (k = 2.00)' begins with it. */
const leading = (text: string): number => Number(text.split(' ')[0])

/** A thread's number with its uncertainty, as far as it is known; null where it is not a number. */
export function threadMeasured({ key, value: text, unit }: Thread, known: Known): Measured | null {
  const value = leading(text)
  if (!Number.isFinite(value)) return null
  const parts = key.split('/')
  if (needs(key) === 'state') {
    const channel = known.channels.find(({ id }) => id === parts[1])
    const quantity = parts[2] as 'ratio' | 'resistance' | 'temperature'
    return measured(value, unit, channel?.[quantity]?.u ?? null)
  }
  if (needs(key) === 'points') {
    const used = known.points
      .find(({ id }) => id === parts[1])
      ?.channels.find(({ channel }) => channel === parts[2])
    const field = parts[3]
    const u = used && (field === 'signal' || field === 't90C') ? cellOf(used, field).u : null
    return measured(value, unit, u, 2, u === null ? undefined : ALONE)
  }
  return reportMeasured(value, unit, reportKey(key), known.numbers)
}

function reportMeasured(shown: number, unit: string, key: string, numbers: ReportNumbers): Measured {
  const number = numbers[key]
  const value = number?.exact ?? shown
  const k = number?.k ? Number(number.k) : 2
  if (key.endsWith('expanded'))
    return {
      value,
      unit,
      expanded: null,
      k,
      digits: 2,
      about: `expanded uncertainty, k = ${number?.k ?? '2'}`,
    }
  const own = number?.uncertainty ? Number(number.uncertainty) : null
  // A residual has no uncertainty printed beside it; its point has one.
  const ofPoint = key.endsWith('.residual') ? numbers[key.replace(/residual$/, 'expanded')] : undefined
  return { value, unit, expanded: own ?? ofPoint?.exact ?? null, k: ofPoint?.k ? Number(ofPoint.k) : k }
}

const LONG = 14
/** A number as it came, or shorter where it is a computed one with more digits than anybody reads. */
export function readable(text: string, unit: string): string {
  const sign = unitSign(unit)
  const figures = text
    .replace(/^-?0*\.?0*/, '')
    .replace(/[eE].*$/, '')
    .replace('.', '')
  if (figures.length < LONG || !/^-?[\d.]+(e-?\d+)?$/i.test(text))
    return sign === '' ? text : `${text} ${sign}`
  return measuredWords(measured(Number(text), unit, null))
}

/** What went into a number, as rows of cells. */
export const inputCells = ({ inputs }: Thread): string[][] => [
  ['Input', 'Value', 'Unit', 'Remarks'],
  ...inputs.map(({ name, value, unit, words }) => [name, value, unitSign(unit), words]),
]
