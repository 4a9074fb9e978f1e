import { counted } from '../base/plural.ts'
import { daysBetween } from '../base/times.ts'
import { inForce } from './register.ts'

type Calibrated = { readonly calibrations: readonly { date: string; due?: string | undefined }[] }

/** When an entry is due again, by the calibration in force on a day; undefined where nothing was said. */
export const dueOf = ({ calibrations }: Calibrated, today: string): string | undefined =>
  inForce<{ date: string; due?: string | undefined }>(calibrations, today)?.due

/** Words for a due date some days away. */
export function dueWords(days: number): string {
  if (days < 0) return `overdue by ${counted(-days, 'day')}`
  if (days === 0) return 'due today'
  return `due in ${counted(days, 'day')}`
}

/** A line of the register as far as due dates go. */
interface DueLine {
  readonly name: string
  readonly due: string | null
  readonly facts: Readonly<Record<string, unknown>>
}

/** What is due: 'Bridge A', or 'Bridge A, check'. */
export const dueName = ({ name, facts }: DueLine): string =>
  facts.dueFor === 'check' ? `${name}, check` : name

/** When a record is due, in words, and for what else later. */
export function dueLineWords({ due, facts }: DueLine, today: string): string {
  const first = due === null ? '' : dueWords(daysBetween(today, due))
  if (typeof facts.laterDue !== 'string') return first
  return `${first}; its ${facts.dueFor === 'check' ? 'calibration' : 'check'} is due on ${facts.laterDue}`
}
