import { counted } from '../base/plural.ts'
import { daysBetween } from '../base/times.ts'
import { inForce, type Register } from './register.ts'

/** Something that has to be calibrated again by a day. */
export interface Due {
  readonly id: string
  readonly name: string
  /** ISO date on which it is due. */
  readonly due: string
  /** Days from today until then; negative once it is overdue. */
  readonly days: number
}

type Calibrated = { readonly calibrations: readonly { date: string; due?: string | undefined }[] }

/** When an entry is due again, by the calibration in force on a day; undefined where nothing was said. */
export const dueOf = ({ calibrations }: Calibrated, today: string): string | undefined =>
  inForce<{ date: string; due?: string | undefined }>(calibrations, today)?.due

/** Everything of the register that has a due date, the most urgent first. Days are those of UTC. */
export function dueDates(register: Register, today: string): Due[] {
  const dated = [
    ...[...register.thermometers, ...register.resistors].map((entry) => ({
      entry,
      due: dueOf(entry, today),
    })),
    ...(register.cells ?? []).map((entry) => ({ entry, due: entry.due })),
    ...register.instruments.flatMap((entry) => [
      { entry, due: entry.due },
      // A bridge is checked between its calibrations.
      {
        entry: { id: entry.id, name: `${entry.name}, check` },
        due: dueOf({ calibrations: entry.checks ?? [] }, today),
      },
    ]),
  ]
  return dated
    .flatMap(({ entry: { id, name }, due }) =>
      due === undefined ? [] : [{ id, name, due, days: daysBetween(today, due) }],
    )
    .sort((a, b) => a.days - b.days)
}

/** Words for a due date some days away. */
export function dueWords(days: number): string {
  if (days < 0) return `overdue by ${counted(-days, 'day')}`
  if (days === 0) return 'due today'
  return `due in ${counted(days, 'day')}`
}
