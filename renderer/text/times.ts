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
