import { first } from '../../app/base/lists.ts'
import { counted } from '../../app/base/plural.ts'
import { duration, utcSecond } from '../../app/base/times.ts'
import type { Comparison } from '../../app/contract/studies.ts'
import type { SettlingView, WaterState } from '../../app/contract/views.ts'
import { celsiusWords } from '../../app/live/words.ts'
import type { Point } from '../../app/records/point.ts'
import type { Reading } from '../../app/records/reading.ts'
import type { SessionEvent } from '../../app/records/session.ts'
import type { ReplayedWait } from './replayer.ts'

/** Something of a session's record that a replay says when it comes to it. */
export interface Moment {
  readonly monoUs: number
  readonly utcUs: number
  readonly kind: string
  readonly words: string
}

const TOLD: ReadonlySet<SessionEvent['kind']> = new Set([
  'opened',
  'resumed',
  'closed',
  'setpoint',
  'settled',
  'gap',
  'clock-step',
  'alarm',
  'decision',
  'note',
])

const STATE_WORDS: Record<WaterState, string> = {
  choppy: 'moving',
  rippled: 'holding',
  flat: 'settled',
  broken: 'silent',
  crossed: 'fault',
  over: 'done',
}

/** Events and points of a session in the order of its own count. */
export function momentsOf(events: readonly SessionEvent[], points: readonly Point[]): Moment[] {
  const told = events
    .filter(({ kind }) => TOLD.has(kind))
    .map(({ monoUs, utcUs, kind, words }) => ({ monoUs, utcUs, kind: kind as string, words }))
  const taken = points.map((point) => ({
    monoUs: monoAt(events, point.endUtcUs),
    utcUs: point.endUtcUs,
    kind: 'point',
    words: `Point at ${celsiusWords(point.setpointC)}, ${counted(point.channels.length, 'channel')}${point.settled ? '' : ', not settled'}.`,
  }))
  return [...taken, ...told].sort((a, b) => a.monoUs - b.monoUs)
}

/** The session's own count at a UTC, by the last event before it, so that a clock that was set is followed. */
function monoAt(events: readonly SessionEvent[], utcUs: number): number {
  const near = events.findLast((event) => event.utcUs <= utcUs) ?? events[0]
  return near ? near.monoUs + utcUs - near.utcUs : 0
}

export function momentLine({ utcUs, kind, words }: Moment, group: SettlingView): string {
  return `${utc(utcUs)}  ${kind.padEnd(10)}  ${words}  [${stateWords(group)}]`
}

/** When a replay found the channels steady, beside what the record says. */
export function waitLine(wait: ReplayedWait): string {
  const at = celsiusWords(wait.setpointC)
  if (wait.settledUtcUs === null) {
    return `${utc(wait.fromUtcUs)}  replayed    The wait at ${at} that begins here does not settle.`
  }
  return `${utc(wait.settledUtcUs)}  replayed    Steady at ${at}; ${recordWords(wait)}`
}

function recordWords({ settledUtcUs, recordedUtcUs, late }: ReplayedWait): string {
  if (recordedUtcUs === null) {
    return late ? 'the plan had gone on unsettled before.' : 'the record has no such moment.'
  }
  const apartS = (settledUtcUs! - recordedUtcUs) / 1e6
  if (Math.abs(apartS) < 0.5) return 'the record says the same.'
  return `${duration(Math.abs(apartS))} ${apartS < 0 ? 'before' : 'after'} the record's ${utc(recordedUtcUs)}.`
}

export function readingLine(reading: Reading, celsius: number, group: SettlingView): string {
  const shown = Number.isFinite(celsius) ? `${celsius.toFixed(6)} °C` : '-'
  const marks = reading.marks.length > 0 ? `  (${reading.marks.join(', ')})` : ''
  return `${utc(reading.utcUs)}  ${reading.channel}  ${reading.raw} ${reading.unit}  ${shown}${marks}  [${stateWords(group)}]`
}

export function stateWords({ state, words }: SettlingView): string {
  return `${STATE_WORDS[state]}: ${words}`
}

/** The comparison as a table: what has changed, and how much has not; or everything. */
export function comparisonLines({ words, moved, lines }: Comparison, everything: boolean): string[] {
  return [...movedLines(moved), ...numberLines(words, lines, everything)]
}

/** What matters first: each thermometer by name, how far it moved against U. */
function movedLines(moved: Comparison['moved']): string[] {
  return moved.flatMap(({ name, serial, points }) => {
    const far = points.toSorted(
      (a, b) => Math.abs(b.differenceMk) / b.expandedMk - Math.abs(a.differenceMk) / a.expandedMk,
    )[0]
    if (!far) return []
    const { differenceMk, expandedMk, celsius, agrees } = far
    const by = `${differenceMk >= 0 ? '+' : ''}${differenceMk.toFixed(2)} mK at ${celsius.toFixed(1)} °C, U ${expandedMk.toFixed(2)} mK`
    return [`${name}${serial ? `, ${serial}` : ''}: ${by}${agrees ? '' : ': beyond U'}`]
  })
}

function numberLines(words: string, lines: Comparison['lines'], everything: boolean): string[] {
  const shown = everything ? lines : lines.filter(({ changed }) => changed)
  const same = lines.length - lines.filter(({ changed }) => changed).length
  if (lines.length === 0) return [words]
  if (shown.length === 0) return [words, `${same} lines compared: the same, digit by digit.`]
  const cells = [
    ['what', 'old', 'new', 'difference', 'unit'],
    ...shown.map((line) => [line.what, line.old, line.new, line.difference, line.unit]),
  ]
  const widths = first(cells).map((_, column) => Math.max(...cells.map((row) => row[column]!.length)))
  const table = cells.map((row) =>
    row
      .map((cell, column) => cell.padEnd(widths[column]!))
      .join('  ')
      .trimEnd(),
  )
  return [words, ...table, `${same} of ${lines.length} lines are the same, digit by digit.`]
}

export function utc(utcUs: number): string {
  return utcSecond(utcUs)
}
