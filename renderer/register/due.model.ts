/** When a record is due to be calibrated again. */
export interface DueRow {
  entry: string
  name: string
  due: string
  days: number
  words: string
}

const WARN_DAYS = 60

/** Red for what is past its date, amber for what soon will be. */
export function dueLook(due: { days: number } | undefined): string {
  if (!due) return ''
  return due.days < 0 ? 'is-past' : due.days < WARN_DAYS ? 'is-soon' : ''
}
