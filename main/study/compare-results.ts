import { at } from '../../app/base/lists.ts'
import { utcSecond } from '../../app/base/times.ts'
import type { Comparison } from '../../app/contract/studies.ts'
import { buildChains } from '../../app/live/chain.ts'
import type { Point } from '../../app/records/point.ts'
import type { Register } from '../../app/records/register.ts'
import { buildReport, type ReportContent } from '../../app/report/content.ts'
import { type Analysis, analyse } from '../../app/results/analysis.ts'
import { sessionDate } from '../../app/results/analysis-channel.ts'
import { type AnalysisInput, decisionsOf } from '../../app/results/analysis-input.ts'
import { movedResults } from '../../app/results/moved-results.ts'
import { ComparisonError } from '../../app/results/uncertainty-error.ts'
import type { SessionFile } from '../store/session-file.ts'
import { recordsOfNow, recordsOfThen } from './records-of-session.ts'
import { type ReplayedWait, Replayer } from './replayer.ts'
import { rebuildDoubts, rebuildPoint, sessionContent } from './report/session-content.ts'

type Numbers = ReportContent['numbers']

/**
 * The report a session would have had with other records: chains, points (with their self-heating pairs), fits and
 * budgets are computed again from its readings. What a person has left out since stays left out.
 */
export const recomputed = (session: SessionFile, register: Register): ReportContent =>
  buildReport(analysisWith(session, register))

function analysisWith(session: SessionFile, register: Register): Analysis {
  const { info, setup } = session
  return analyse({
    info,
    setup: { ...setup, register },
    points: pointsWith(session, register),
    events: withoutRecords(session.events()),
  })
}

/** A session's points made again from their readings with other records; what a person has left out stays left out. */
export function pointsWith(session: SessionFile, register: Register): Point[] {
  const { info, setup } = session
  const chains = buildChains({ bench: setup.bench, register, date: sessionDate(info) })
  const { leftOutReadings } = decisionsOf(setup, session.events())
  return session.points().flatMap((point) => rebuildPoint(session, chains, point, leftOutReadings) ?? [])
}

/** A session's points with its own records as another register has them now. */
export function pointsOfNow(session: SessionFile, now: Register): Point[] {
  return pointsWith(session, recordsOfNow(session.setup.register, now).register)
}

/** The records asked for stand in place of those that amendments brought. */
function withoutRecords(events: AnalysisInput['events']): AnalysisInput['events'] {
  return events.map((event) => {
    if (event.kind !== 'amendment' || event.data.register === undefined) return event
    const { register: _register, ...data } = event.data
    return { ...event, data }
  })
}

/**
 * Old and new results of a session line by line, and when it would have settled. A session that has no results, such as a
 * recording without a reference, says so in words.
 */
export function compareWithNow(session: SessionFile, now: Register): Comparison {
  const { register, changed } = recordsOfNow(recordsOfThen(session), now)
  const then = resultsOf(() => analyse(sessionContent(session)))
  const again = resultsOf(() => analysisWith(session, register))
  const settlings = compareSettling(session, register)
  if (then.refusal !== null && again.refusal !== null) {
    return { words: `This session has no results to compare: ${then.refusal}`, moved: [], lines: settlings }
  }
  const lines = compareNumbers(then.numbers, again.numbers)
  const moved = lines.filter((line) => line.changed).length
  const words =
    changed.length === 0
      ? `No record of this session has changed since; computing it again from its readings gives ${moved === 0 ? 'the same numbers' : `other numbers: ${moved} of ${lines.length}`}.`
      : `Changed since: ${changed.join(', ')}. ${moved} of ${lines.length} numbers change.`
  const without = [
    then.refusal === null ? '' : ` No results then: ${then.refusal}`,
    again.refusal === null ? '' : ` No results now: ${again.refusal}`,
  ].join('')
  const doubts = rebuildDoubts(session).map((doubt) => ` ${doubt}`)
  return {
    words: `${words}${without}${doubts.join('')}`,
    moved: movedBetween(then.analysis, again.analysis),
    lines: [...settlings, ...lines],
  }
}

/** A report's numbers; none, with the reason, where the session or its records do not give any. */
function resultsOf(work: () => Analysis): {
  analysis: Analysis | null
  numbers: Numbers
  refusal: string | null
} {
  try {
    const analysis = work()
    return { analysis, numbers: buildReport(analysis).numbers, refusal: null }
  } catch (fault) {
    if (!(fault instanceof ComparisonError)) throw fault
    return { analysis: null, numbers: {}, refusal: fault.message }
  }
}

const movedBetween = (a: Analysis | null, b: Analysis | null): Comparison['moved'] =>
  a && b ? movedResults(a, b).map((one) => ({ ...one, points: one.points.map((p) => ({ ...p })) })) : []

/** Two sessions' results beside each other, where both have a number of the same name. */
export function compareSessions(a: SessionFile, b: SessionFile): Comparison {
  const [first, second] = [analyse(sessionContent(a)), analyse(sessionContent(b))]
  return {
    words: `${a.info.name} (${a.info.id}) beside ${b.info.name} (${b.info.id}).`,
    moved: movedBetween(first, second),
    lines: compareNumbers(buildReport(first).numbers, buildReport(second).numbers),
  }
}

function compareNumbers(old: Numbers, now: Numbers): Comparison['lines'] {
  const keys = [...Object.keys(old), ...Object.keys(now).filter((key) => !(key in old))]
  return keys.map((key) => {
    const before = old[key]
    const after = now[key]
    return {
      key,
      what: (before ?? after)!.name,
      old: before?.value ?? '',
      new: after?.value ?? '',
      difference: differenceWords(before?.exact, after?.exact),
      unit: (before ?? after)!.unit,
      changed: !before || !after || !Object.is(after.exact, before.exact),
    }
  })
}

function differenceWords(before: number | undefined, after: number | undefined): string {
  if (after === undefined) return 'is no longer there'
  if (before === undefined) return 'was not there'
  if (Object.is(after, before)) return '0'
  return (after - before).toPrecision(3)
}

function compareSettling(session: SessionFile, register: Register): Comparison['lines'] {
  if (session.setup.plan === null) return []
  const old = waitsOf(session)
  const now =
    JSON.stringify(register) === JSON.stringify(session.setup.register) ? old : waitsOf(session, register)
  // The plan went its way once: the waits are the same, only what became of them may differ.
  return old.map(({ setpointC, settledUtcUs }, i) => {
    const again = at(now, i)
    return {
      key: `settled.${i}`,
      what: `settled at setpoint ${setpointC} °C (UTC)`,
      old: second(settledUtcUs),
      new: second(again.settledUtcUs),
      difference: minutesBetween(settledUtcUs, again.settledUtcUs),
      unit: 'min',
      changed: again.settledUtcUs !== settledUtcUs,
    }
  })
}

function waitsOf(session: SessionFile, register?: Register): readonly ReplayedWait[] {
  const replayer = new Replayer(session, register ? { register } : {})
  replayer.advance(replayer.endUs)
  return replayer.waits
}

function second(utcUs: number | null): string {
  return utcUs === null ? 'not settled' : utcSecond(utcUs)
}

function minutesBetween(old: number | null, now: number | null): string {
  if (old === now) return '0'
  if (now === null) return 'not settled'
  return old === null ? 'settled' : ((now - old) / 60e6).toFixed(1)
}
