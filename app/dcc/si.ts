import { last, zip } from '../base/lists.ts'
import { moved } from '../report/decimal-text.ts'

/** What the units of a certificate of thermometers and resistors come down to. */
export type SiQuantity = 'ohm' | 'kelvin' | 'celsius' | 'volt' | 'one' | 'ampere' | 'other'

/** SI brochure, 9th edition as updated in 2022, table 7. */
const PREFIXES: ReadonlyMap<string, number> = new Map([
  ['quetta', 30],
  ['ronna', 27],
  ['yotta', 24],
  ['zetta', 21],
  ['exa', 18],
  ['peta', 15],
  ['tera', 12],
  ['giga', 9],
  ['mega', 6],
  ['kilo', 3],
  ['hecto', 2],
  ['deca', 1],
  ['deci', -1],
  ['centi', -2],
  ['milli', -3],
  ['micro', -6],
  ['nano', -9],
  ['pico', -12],
  ['femto', -15],
  ['atto', -18],
  ['zepto', -21],
  ['yocto', -24],
  ['ronto', -27],
  ['quecto', -30],
])

/** Units in powers of metre, kilogram, second, ampere, kelvin; SI brochure, 9th edition, table 4. */
const BASE: ReadonlyMap<string, readonly [number, number, number, number, number]> = new Map([
  ['one', [0, 0, 0, 0, 0]],
  ['metre', [1, 0, 0, 0, 0]],
  ['kilogram', [0, 1, 0, 0, 0]],
  ['second', [0, 0, 1, 0, 0]],
  ['ampere', [0, 0, 0, 1, 0]],
  ['kelvin', [0, 0, 0, 0, 1]],
  ['volt', [2, 1, -3, -1, 0]],
  ['ohm', [2, 1, -3, -2, 0]],
])

export interface Unit {
  readonly quantity: SiQuantity
  /** Power of ten that brings a value to the unit named by the quantity. */
  readonly power: number
  /** Power of the kelvin, for coefficients of a temperature. */
  readonly kelvin: number
}

const OTHER: Unit = { quantity: 'other', power: 0, kelvin: 0 }

/** A D-SI unit, whatever way it is written; a unit of something else is 'other'. */
export function unitOf(text: string): Unit {
  if (text === '\\degreecelsius') return { quantity: 'celsius', power: 0, kelvin: 0 }
  if (text === '\\percent') return { quantity: 'one', power: -2, kelvin: 0 }
  let sums = [0, 0, 0, 0, 0]
  let power = 0
  let prefix = 0
  let sign = 1
  for (const [, word = '', exponent] of text.matchAll(/\\([a-z]+)(?:\{(-?\d+)\})?/g)) {
    const ofTen = PREFIXES.get(word)
    if (word === 'per') sign = -1
    else if (ofTen !== undefined) prefix = ofTen
    else if (word === 'tothe') continue
    else {
      const base = BASE.get(word)
      if (!base) return OTHER
      const after = new RegExp(`\\\\${word}\\\\tothe\\{(-?\\d+)\\}`).exec(text)
      const raised = sign * Number(exponent ?? after?.[1] ?? 1)
      sums = zip(sums, base).map(([sum, b]) => sum + b * raised)
      power += prefix * raised
      prefix = 0
      sign = 1
    }
  }
  const kelvin = last(sums)
  const rest = sums.slice(0, -1).join()
  const is = (name: string) => rest === BASE.get(name)?.slice(0, -1).join()
  if (is('ohm')) return { quantity: 'ohm', power, kelvin }
  if (is('volt')) return { quantity: 'volt', power, kelvin }
  if (rest === '0,0,0,1') return { quantity: 'ampere', power, kelvin }
  if (rest === '0,0,0,0') return { quantity: kelvin === 1 ? 'kelvin' : 'one', power, kelvin }
  return OTHER
}

/** Decimal text in the unit's own quantity, every digit kept. */
export const inUnit = (text: string, unit: Unit): string => moved(text, unit.power)
