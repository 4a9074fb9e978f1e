import type { StripMark } from '../../app/contract/views.ts'
import { fixed } from '../text/numbers.ts'
import { momentLabels } from '../text/times.ts'

/** Where everything on a night strip stands: x in per cent of its width, y in per cent of its height. */

export interface StripStep {
  from: number
  to: number
  y: number
  /** Where it was settled, undefined where it was not. */
  settledAt: number | undefined
  expected: boolean
  words: string
  /** Temperature in few letters. */
  label: string
}

export interface StripSign {
  at: number
  y: number
  kind: StripMark['kind']
  /** Of an alarm: it asks for a look, not for help. */
  isWarning: boolean
  words: string
  utcUs: number
  to: number
}

export interface StripPicture {
  steps: StripStep[]
  signs: StripSign[]
  /** undefined where now lies outside. */
  now: number | undefined
  hours: { at: number; words: string }[]
  startUtcUs: number
  endUtcUs: number
}

const TOP = 14
const BOTTOM = 66

/** Lays a session out from its start to its expected end, or to the last thing known. */
export function stripPicture(
  marks: readonly StripMark[],
  startUtcUs: number | null,
  expectedEndUtcUs: number | null,
  nowUtcUs: number,
): StripPicture | undefined {
  if (startUtcUs === null) return undefined
  const known = marks.reduce((last, mark) => Math.max(last, mark.toUtcUs), startUtcUs + 60e6)
  const endUtcUs = Math.max(known, expectedEndUtcUs ?? 0, expectedEndUtcUs === null ? nowUtcUs : 0)
  const x = (utcUs: number) =>
    Math.min(100, Math.max(0, ((utcUs - startUtcUs) / (endUtcUs - startUtcUs)) * 100))
  const levels = marks.flatMap((mark) => (mark.celsius === null ? [] : [mark.celsius]))
  const low = Math.min(...levels)
  const high = Math.max(...levels)
  const y = (celsius: number | null) =>
    celsius === null || levels.length === 0 || high === low
      ? (TOP + BOTTOM) / 2
      : BOTTOM - ((celsius - low) / (high - low)) * (BOTTOM - TOP)
  const settled = marks.filter((mark) => mark.kind === 'settled')
  const setpoints = marks
    .filter((mark) => mark.kind === 'setpoint' || mark.kind === 'expected-setpoint')
    .sort((one, other) => one.fromUtcUs - other.fromUtcUs)
    // The same setpoint said again, after a pause say, is no new step.
    .filter(
      (mark, i, all) => i === 0 || mark.celsius !== all[i - 1]!.celsius || mark.kind !== all[i - 1]!.kind,
    )
  const steps = setpoints.map((mark, i): StripStep => {
    // A setpoint is in force until the next one, whatever its mark knew of its end.
    const toUtcUs = setpoints[i + 1]?.fromUtcUs ?? Math.max(mark.toUtcUs, endUtcUs)
    const at = settled.find((s) => s.fromUtcUs >= mark.fromUtcUs && s.fromUtcUs < toUtcUs)
    return {
      from: x(mark.fromUtcUs),
      to: x(toUtcUs),
      y: y(mark.celsius),
      settledAt: at ? x(at.fromUtcUs) : undefined,
      expected: mark.kind === 'expected-setpoint',
      label: mark.celsius === null ? '' : `${fixed(mark.celsius, Number.isInteger(mark.celsius) ? 0 : 2)} °C`,
      words: mark.words,
    }
  })
  const signs = marks
    .filter((mark) => !['setpoint', 'expected-setpoint', 'settled'].includes(mark.kind))
    .map((mark): StripSign => {
      const isPoint = mark.kind === 'point' || mark.kind === 'expected-point'
      return {
        at: x(isPoint ? (mark.fromUtcUs + mark.toUtcUs) / 2 : mark.fromUtcUs),
        to: x(mark.toUtcUs),
        y: y(mark.celsius),
        // The shape of an alarm is for what is wrong; a notice is drawn as a note.
        kind: mark.kind === 'alarm' && mark.severity === 'notice' ? 'note' : mark.kind,
        isWarning: mark.severity === 'warning',
        words: mark.words,
        utcUs: mark.fromUtcUs,
      }
    })
  return {
    steps,
    signs,
    now: nowUtcUs >= startUtcUs && nowUtcUs <= endUtcUs ? x(nowUtcUs) : undefined,
    hours: momentWords(hourMarks(startUtcUs, endUtcUs)).map(({ utcUs, words }) => ({ at: x(utcUs), words })),
    startUtcUs,
    endUtcUs,
  }
}

const momentWords = (moments: readonly number[]): { utcUs: number; words: string }[] =>
  momentLabels(moments.map((utcUs) => utcUs / 1e6)).map((words, i) => ({ utcUs: moments[i]!, words }))

const STEPS_S = [60, 300, 600, 1800, 3600, 7200, 14_400, 21_600, 43_200, 86_400]

/** At most about nine whole local times between two moments. */
export function hourMarks(startUtcUs: number, endUtcUs: number): number[] {
  const span = (endUtcUs - startUtcUs) / 1e6
  const step = STEPS_S.find((s) => span / s <= 9) ?? Math.ceil(span / 9 / 86_400) * 86_400
  const offset = new Date(startUtcUs / 1000).getTimezoneOffset() * 60
  const first = Math.ceil((startUtcUs / 1e6 - offset) / step) * step + offset
  const marks: number[] = []
  for (let s = first; s * 1e6 < endUtcUs; s += step) marks.push(s * 1e6)
  return marks
}

/** Everything worth going to, in time order: for the arrow keys. */
export function stripStops(picture: StripPicture): { at: number; words: string }[] {
  return [
    ...picture.steps.filter((s) => !s.expected).map((s) => ({ at: s.from, words: s.words })),
    ...picture.signs.filter((s) => !s.kind.startsWith('expected')).map((s) => ({ at: s.at, words: s.words })),
    ...(picture.now === undefined ? [] : [{ at: picture.now, words: 'now' }]),
  ].sort((a, b) => a.at - b.at)
}
