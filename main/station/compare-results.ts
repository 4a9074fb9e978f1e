import { analyse } from '../../app/comparison/analysis.ts'
import { sessionDate } from '../../app/comparison/analysis-channel.ts'
import { buildChains } from '../../app/comparison/chain.ts'
import type { Comparison } from '../../app/contract/studies.ts'
import type { Register } from '../../app/records/register.ts'
import { buildReport, type ReportContent } from '../../app/report/content.ts'
import type { SessionFile } from '../store/session-file.ts'
import { Replayer } from './replayer.ts'
import { rebuildPoint, sessionContent } from './report/session-content.ts'

type Numbers = ReportContent['numbers']

/** Entries of a session's own records as they stand in another register; those it does not have stay as they were. */
export function recordsOfNow(then: Register, now: Register): { register: Register; changed: string[] } {
  const changed: string[] = []
  const take = <T extends { id: string; name: string }>(own: readonly T[], current: readonly T[]): T[] =>
    own.map((entry) => {
      const found = current.find(({ id }) => id === entry.id)
      if (!found || JSON.stringify(found) === JSON.stringify(entry)) return entry
      changed.push(found.name)
      return found
    })
  return {
    register: {
      thermometers: take(then.thermometers, now.thermometers),
      resistors: take(then.resistors, now.resistors),
      instruments: take(then.instruments, now.instruments),
      fluids: take(then.fluids, now.fluids),
    },
    changed,
  }
}

/** The report a session would have had with other records: chains, points and fits are computed again from its readings. */
export function recomputed(session: SessionFile, register: Register): ReportContent {
  const { info, setup, points, events } = sessionContent(session)
  const chains = buildChains({ bench: setup.bench, register, date: sessionDate(info) })
  return buildReport(
    analyse({
      info,
      setup: { ...setup, register },
      points: points.flatMap((point) => rebuildPoint(session, chains, point) ?? []),
      events,
    }),
  )
}

/** Old and new results of a session line by line, and when it would have settled. */
export function compareWithNow(session: SessionFile, now: Register): Comparison {
  const { register, changed } = recordsOfNow(session.setup.register, now)
  const then = buildReport(analyse(sessionContent(session)))
  const lines = compareNumbers(then.numbers, recomputed(session, register).numbers)
  const settlings = compareSettling(session, register)
  const moved = lines.filter((line) => line.changed).length
  const words =
    changed.length === 0
      ? 'No record of this session has changed since; computing it again gives the same numbers.'
      : `Changed since: ${changed.join(', ')}. ${moved} of ${lines.length} numbers change.`
  return { words, lines: [...settlings, ...lines] }
}

/** Two sessions' results beside each other, where both have a number of the same name. */
export function compareSessions(a: SessionFile, b: SessionFile): Comparison {
  const lines = compareNumbers(
    buildReport(analyse(sessionContent(a))).numbers,
    buildReport(analyse(sessionContent(b))).numbers,
  )
  return { words: `${a.info.name} (${a.info.id}) beside ${b.info.name} (${b.info.id}).`, lines }
}

function compareNumbers(old: Numbers, now: Numbers): Comparison['lines'] {
  return Object.entries(old).map(([key, before]) => {
    const after = now[key]
    const difference = after ? after.exact - before.exact : Number.NaN
    return {
      key,
      what: before.name,
      old: before.value,
      new: after?.value ?? '',
      difference: Number.isFinite(difference)
        ? difference === 0
          ? '0'
          : difference.toPrecision(3)
        : 'is no longer there',
      unit: before.unit,
      changed: !after || after.exact !== before.exact,
    }
  })
}

function compareSettling(session: SessionFile, register: Register): Comparison['lines'] {
  const [old, now] = [undefined, register].map((records) => {
    const replayer = new Replayer(session, records ? { register: records } : {})
    replayer.advance(replayer.endUs)
    return replayer.settled
  })
  const minute = (utcUs: number | undefined) =>
    utcUs === undefined ? 'not settled' : new Date(utcUs / 1000).toISOString().slice(0, 16)
  return old!.map(({ setpointC, utcUs }, i) => {
    const again = now![i]?.utcUs
    return {
      key: `settled.${i}`,
      what: `settled at setpoint ${setpointC} °C (UTC)`,
      old: minute(utcUs),
      new: minute(again),
      difference: again === undefined ? 'not settled' : ((again - utcUs) / 60e6).toFixed(1),
      unit: 'min',
      changed: again !== utcUs,
    }
  })
}
