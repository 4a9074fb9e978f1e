/** A moment in local time as people type it: '2026-03-01 21:04:30', '21:04' on the day given. Seconds UTC. */
export function readMoment(typed: string, day: string): number | undefined {
  const match = /^(?:(\d{4}-\d{2}-\d{2})[ T])?(\d{1,2})[:.](\d{2})(?:[:.](\d{2}))?$/.exec(typed.trim())
  if (!match) return undefined
  const [, date = day, hour, minute, second = '00'] = match
  const ms = new Date(`${date}T${hour!.padStart(2, '0')}:${minute}:${second}`).getTime()
  return Number.isNaN(ms) ? undefined : ms / 1000
}
