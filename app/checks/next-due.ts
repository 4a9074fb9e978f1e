import { utcDay } from '../base/times.ts'

interface Dated {
  readonly date: string
  readonly due?: string | undefined
}

const parts = (date: string) => date.split('-').map(Number) as [number, number, number]

/** A day so many months later; the last of the month where that month has no such day. */
export function monthsAfter(date: string, months: number): string {
  const [year, month, day] = parts(date)
  const last = new Date(Date.UTC(year, month - 1 + months + 1, 0)).getUTCDate()
  return utcDay(Date.UTC(year, month - 1 + months, Math.min(day, last)) * 1000)
}

/** The same distance after a day as another pair of days has: in months where those are whole, else in days. */
function alike(date: string, from: string, to: string): string {
  const [fromYear, fromMonth, fromDay] = parts(from)
  const [toYear, toMonth, toDay] = parts(to)
  const months = 12 * (toYear - fromYear) + toMonth - fromMonth
  if (fromDay === toDay) return monthsAfter(date, months)
  return utcDay((Date.parse(date) + Date.parse(to) - Date.parse(from)) * 1000)
}

/**
 * When something is due again: as given, else after the same interval as the newest entry not after the day that had a due
 * date. Undefined where neither says.
 */
export function nextDue(
  date: string,
  given: string | undefined,
  earlier: readonly Dated[],
): string | undefined {
  if (given !== undefined) return given
  const last = earlier
    .filter((entry) => entry.due !== undefined && entry.date <= date)
    .toSorted((a, b) => a.date.localeCompare(b.date))
    .at(-1)
  return last?.due === undefined ? undefined : alike(date, last.date, last.due)
}

/** Months to the next calibration that a window proposes where no entry had an interval; common practice, no source. */
const USUAL_MONTHS = 12

/** What a window proposes: the interval of before, else a year. */
export function proposedDue(date: string, earlier: readonly Dated[]): string {
  return nextDue(date, undefined, earlier) ?? monthsAfter(date, USUAL_MONTHS)
}
