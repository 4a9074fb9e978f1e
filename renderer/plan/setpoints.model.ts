import { counted } from '../../app/base/plural.ts'
import { CELSIUS_UNITS, readNumber } from '../text/numbers.ts'

/** The list of setpoints: typed, pasted, spread evenly, there and back. */

export interface Row {
  key: number
  celsius: string
  label: string
  selfHeating: boolean
  exchange: boolean
  lift: boolean
}

/** What is done at a setpoint beside its point. */
export type AtSetpoint = { [K in 'selfHeating' | 'exchange' | 'lift']?: boolean | undefined }

let nextKey = 1
export const row = (celsius: string, label = '', at: AtSetpoint = {}): Row => ({
  key: nextKey++,
  celsius,
  label,
  selfHeating: at.selfHeating ?? false,
  exchange: at.exchange ?? false,
  lift: at.lift ?? false,
})

/**
 * Setpoints as a spreadsheet copies them: a temperature and perhaps a label in each line, or one row of temperatures.
 * A heading and other lines without a number are passed over.
 */
export function readSetpoints(text: string): { celsius: string; label: string }[] {
  const lines = text
    .split(/\r\n|\r|\n/)
    .map((line) => line.split(/\t|;/).map((cell) => cell.trim()))
    .filter((cells) => cells.some((cell) => cell !== ''))
  const isNumber = (cell: string) => readNumber(cell, CELSIUS_UNITS) !== undefined
  const [only] = lines
  if (lines.length === 1 && only && only.filter(isNumber).length > 1)
    return only.filter(isNumber).map((celsius) => ({ celsius, label: '' }))
  const filled = lines.filter((cells) => cells.some(isNumber))
  // A first column that only counts the setpoints is not one of temperatures.
  const counted =
    filled.length > 1 &&
    filled.every(([n, next]) => n !== undefined && isNumber(next ?? '')) &&
    filled.every(([n], i) => Number(n) === i + 1)
  return filled.map((cells) => {
    const at = counted ? 1 : cells.findIndex(isNumber)
    return { celsius: cells[at]!, label: cells[at + 1] ?? '' }
  })
}

/** Rows as they are, and again in the other direction; labelled up and down where they had no label. */
export function thereAndBack(rows: readonly Row[]): Row[] {
  const celsius = (r: Row | undefined) => readNumber(r?.celsius ?? '', CELSIUS_UNITS) ?? Number.NaN
  const rising = celsius(rows.at(-1)) >= celsius(rows[0])
  const [there, back] = rising ? ['up', 'down'] : ['down', 'up']
  return [
    ...rows.map((r) => (r.label.trim() === '' ? { ...r, label: there } : r)),
    ...rows
      .slice(0, -1)
      .reverse()
      .map((r) => row(r.celsius, back)),
  ]
}

/** `count` setpoints evenly from one end to the other, and back again without repeating the turn. */
export function spread(
  from: number,
  to: number,
  count: number,
  back: boolean,
): { celsius: string; label: string }[] {
  const n = Math.max(2, Math.round(count))
  const up = Array.from({ length: n }, (_, i) => Number((from + ((to - from) * i) / (n - 1)).toFixed(6)))
  const first = back ? (to >= from ? 'up' : 'down') : ''
  const second = to >= from ? 'down' : 'up'
  return [
    ...up.map((c) => ({ celsius: String(c), label: first })),
    ...(back
      ? up
          .slice(0, -1)
          .reverse()
          .map((c) => ({ celsius: String(c), label: second }))
      : []),
  ]
}

/** What became of a paste, in words. */
export function pasteWords(text: string): string {
  const lines = text.split(/\r\n|\r|\n/).filter((line) => line.trim() !== '').length
  const found = readSetpoints(text).length
  const over = lines > 1 ? lines - found : 0
  return `${counted(found, 'setpoint')} pasted.${over > 0 ? ` ${counted(over, 'line')} without a temperature passed over.` : ''}`
}
