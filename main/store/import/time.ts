import type { TIME_FORMS } from '../../../app/contract/tables.ts'

export type TimeForm = (typeof TIME_FORMS)[number]

export interface TimeReader {
  form: TimeForm
  /** What an ISO 8601 time without zone means, minutes east of UTC; absent: such times are refused. */
  offsetMin?: number | undefined
  /** s, ms and us count from this moment; 0: from 1970. */
  originUtcUs: number
}

const ISO =
  /^(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,12}))?)?\s*(Z|[+-]\d{2}(?::?\d{2})?)?$/

/** Whole microseconds since 1970, UTC; undefined where the text is no such time. */
export function readTime(text: string, { form, offsetMin, originUtcUs }: TimeReader): number | undefined {
  if (form !== 'iso') {
    const factor = { s: 1e6, ms: 1e3, us: 1 }[form]
    const count = text.trim() === '' ? Number.NaN : Number(text)
    return Number.isFinite(count) ? originUtcUs + Math.round(count * factor) : undefined
  }
  const match = ISO.exec(text.trim())
  if (!match) return undefined
  const [, year, month, day, hour, minute, second = '00', fraction = '', zone] = match
  const whole = `${year}-${month}-${day}T${hour}:${minute}:${second}Z`
  const ms = Date.parse(whole)
  // Date.parse turns 30 February into 2 March; such a time is a mistake and not a day in March.
  if (Number.isNaN(ms) || new Date(ms).toISOString() !== `${whole.slice(0, -1)}.000Z`) return undefined
  const shift = zone === undefined ? offsetMin : zone === 'Z' ? 0 : minutesOf(zone)
  if (shift === undefined) return undefined
  const micros = Math.round(Number(`0.${fraction || '0'}`) * 1e6)
  return ms * 1000 + micros - shift * 60_000_000
}

/** +01:00, +0100 or +01 as minutes; undefined for anything else. */
export function minutesOf(zone: string): number | undefined {
  const match = /^([+-])(\d{2})(?::?(\d{2}))?$/.exec(zone)
  if (!match) return undefined
  return (match[1] === '-' ? -1 : 1) * (Number(match[2]) * 60 + Number(match[3] ?? '0'))
}
