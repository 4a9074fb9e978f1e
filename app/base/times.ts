/** Times and dates as text, in UTC. What a person sees in local time is the window's own matter. */

const iso = (utcUs: number): string => new Date(Math.floor(utcUs / 1000)).toISOString()

/** The day that a moment lies in: 2026-03-01. Calibrations, certificates and due dates are counted in these. */
export const utcDay = (utcUs: number): string => iso(utcUs).slice(0, 10)

/** 2026-03-01 19:05 UTC. */
export const utcMinute = (utcUs: number): string => `${iso(utcUs).slice(0, 16).replace('T', ' ')} UTC`

/** 2026-03-01 19:05:12 UTC. */
export const utcTime = (utcUs: number): string => `${iso(utcUs).slice(0, 19).replace('T', ' ')} UTC`

/** 2026-03-12T18:19:05Z, as ISO 8601 has it. */
export const utcSecond = (utcUs: number): string => `${iso(utcUs).slice(0, 19)}Z`

/** 2026-03-12T18:19:05.123Z. */
export const utcMillisecond = iso

const DAY_MS = 86_400_000

/** Whole days from one day to another, negative where the other lies before: both as 2026-03-01. */
export const daysBetween = (from: string, to: string): number =>
  Math.round((Date.parse(to) - Date.parse(from)) / DAY_MS)

/** A length of time as a person uses it: '40 s', '14 min', '2 h 5 min', '3 d 4 h'. */
export function duration(seconds: number): string {
  if (!Number.isFinite(seconds)) return '\u2013'
  const s = Math.round(Math.max(0, seconds))
  if (s < 90) return `${s} s`
  const minutes = Math.round(s / 60)
  if (minutes < 120) return `${minutes} min`
  const hours = Math.floor(minutes / 60)
  if (hours < 48) return minutes % 60 === 0 ? `${hours} h` : `${hours} h ${minutes % 60} min`
  return hours % 24 === 0 ? `${hours / 24} d` : `${Math.floor(hours / 24)} d ${hours % 24} h`
}
