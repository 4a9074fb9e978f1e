/** Times as people read them: local first, UTC at hand. */

const two = (n: number) => String(n).padStart(2, '0')

export function clockTime(utcUs: number, seconds = false): string {
  const d = new Date(utcUs / 1000)
  return `${two(d.getHours())}:${two(d.getMinutes())}${seconds ? `:${two(d.getSeconds())}` : ''}`
}

export function localDate(utcUs: number): string {
  const d = new Date(utcUs / 1000)
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`
}

export const localDateTime = (utcUs: number): string => `${localDate(utcUs)} ${clockTime(utcUs, true)}`

export const utcTime = (utcUs: number): string =>
  `${new Date(utcUs / 1000).toISOString().slice(0, 19).replace('T', ' ')} UTC`

/** '5 h 12 min', '14 min', '40 s'. */
export function duration(seconds: number): string {
  if (!Number.isFinite(seconds)) return '\u2013'
  const s = Math.max(0, Math.round(seconds))
  if (s < 90) return `${s} s`
  const minutes = Math.round(s / 60)
  if (minutes < 90) return `${minutes} min`
  const hours = Math.floor(minutes / 60)
  if (hours < 48) return minutes % 60 === 0 ? `${hours} h` : `${hours} h ${minutes % 60} min`
  return `${Math.floor(hours / 24)} d ${hours % 24} h`
}

/** '2026-03-12T18:19:05Z', as ISO 8601 has it. */
export const utcSecond = (utcUs: number): string => `${new Date(utcUs / 1000).toISOString().slice(0, 19)}Z`
