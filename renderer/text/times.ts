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

const DAY_S = 86_400

/**
 * Labels of moments along an axis, s: no finer than the step between them needs, so that no two say the same.
 * Clock times, with seconds below a minute; dates from a day on; both where a shorter step runs over days.
 */
export function momentLabels(moments: readonly number[]): string[] {
  const step = (moments[1] ?? 0) - (moments[0] ?? 0)
  const length = (moments.at(-1) ?? 0) - (moments[0] ?? 0)
  return moments.map((t) => {
    const utcUs = t * 1e6
    if (step >= DAY_S) return localDate(utcUs)
    const clock = clockTime(utcUs, step < 60)
    return length >= DAY_S ? `${localDate(utcUs).slice(5)} ${clock}` : clock
  })
}
