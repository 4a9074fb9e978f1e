import type { Clock } from '../../app/base/clock.ts'
import { daysBetween, utcDay } from '../../app/base/times.ts'
import { ALARM_TABLE } from '../../app/contract/alarm-kinds.ts'
import type { RecordLine } from '../../app/contract/pages.ts'
import type { AlarmRules } from '../../app/contract/settings.ts'
import { asTold, said } from '../../app/messages/said.ts'
import { dueName, dueWords } from '../../app/records/due.ts'
import type { SessionSetup } from '../../app/records/session.ts'
import type { AlarmDesk } from './alarm-desk.ts'

const DAY_MS = 86_400_000

export interface DueWatchParts {
  readonly clock: Clock
  readonly desk: AlarmDesk
  readonly session: () => { readonly setup: SessionSetup } | undefined
  readonly due: (by: string, ids?: readonly string[]) => { total: number; rows: RecordLine[] }
}

/**
 * Calibrations that are due, however many: one notice that counts, told of in the list alone and again only when it says
 * something else. What a running session measures with concerns its night and is an alarm of its own.
 */
export class DueWatch {
  readonly #p: DueWatchParts
  /** Alarms of records that the session of the last look used, by rule. */
  readonly #ofSession = new Map<string, ReadonlySet<string>>()

  constructor(parts: DueWatchParts) {
    this.#p = parts
  }

  look({ id, above, subject, severity }: AlarmRules['rules'][number]): void {
    const { clock, desk, due, session } = this.#p
    const { utcUs } = clock.now()
    const today = utcDay(utcUs)
    const by = utcDay(utcUs + (above ?? ALARM_TABLE['calibration-due'].usual) * DAY_MS * 1000)
    const kind = 'calibration-due'
    const ids = subject === undefined ? undefined : [subject]
    const { total, rows } = due(by, ids)
    const overdue = due(utcDay(utcUs - DAY_MS * 1000), ids).total
    const [first] = rows
    if (first)
      desk.raise({
        ...{ key: id, kind, severity, subject: null, quiet: true },
        said: asTold(noticeOf(total, overdue, first)),
      })
    else desk.end(id)
    const run = session()
    const used = run ? due(by, idsOf(run.setup)).rows : []
    const keys = new Set<string>()
    for (const record of used.filter((one) => subject === undefined || one.id === subject)) {
      const key = `${id}-${record.id}`
      keys.add(key)
      const when = dueWords(daysBetween(today, record.due!))
      const told = said('recalibration-in-use', { record: dueName(record), when, date: record.due! })
      desk.raise({ key, kind, severity, subject: record.id, said: told })
    }
    for (const key of this.#ofSession.get(id) ?? []) if (!keys.has(key)) desk.end(key)
    this.#ofSession.set(id, keys)
  }
}

/** Dates and no counts of days: a notice that somebody has seen is not raised again because a day has passed. */
function noticeOf(total: number, overdue: number, line: RecordLine): string {
  const { due } = line
  const name = dueName(line)
  if (total === 1) return `The calibration of ${name} ${overdue === 1 ? 'was' : 'is'} due on ${due}.`
  const past = overdue === 0 ? '' : `, ${overdue} of them overdue`
  return `${total} calibrations are due${past}; the first is that of ${name}, ${due}. The register lists them under Due dates.`
}

/** What a session measures with; a thermometer under test is there to be calibrated. */
function idsOf({ bench, register }: SessionSetup): string[] {
  const tested = new Set(
    bench.channels.flatMap(({ role, thermometer }) => (role === 'under-test' ? [thermometer] : [])),
  )
  const { thermometers, resistors, instruments } = register
  return [...thermometers.filter(({ id }) => !tested.has(id)), ...resistors, ...instruments].map(
    ({ id }) => id,
  )
}
