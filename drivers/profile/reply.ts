import type { Mark } from '../../app/records/mark.ts'
import type { RawUnit } from '../../app/records/reading.ts'
import { readBlock } from '../language/blocks.ts'
import { readNumber, timesPowerOfTen } from '../language/numbers.ts'
import { compilePattern } from '../language/pattern.ts'
import { readRegister } from '../language/status.ts'
import { type Answer, BARE_NUMBER, type ValueRule } from './schema.ts'

/** What a reply says, by the answer's rule. */
export type Read =
  | { readonly kind: 'acknowledged' }
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'bits'; readonly bits: number }
  | {
      readonly kind: 'value'
      readonly value: string | undefined
      readonly unit: RawUnit
      readonly marks: readonly Mark[]
      /** The input the reply names, where it does. */
      readonly input?: string | undefined
    }
  | { readonly kind: 'unreadable'; readonly words: string }

const ACKNOWLEDGED: Read = { kind: 'acknowledged' }
const NO_MARKS: readonly Mark[] = []
const DOT_ALL = { dotAll: true }

/** Makes the reader of one answer, its patterns compiled once. */
export function compileAnswer(answer: Answer): (text: string) => Read {
  switch (answer.kind) {
    case 'none':
      return (text) => (text === '' ? ACKNOWLEDGED : unreadable(`nothing was expected, but "${text}" came`))
    case 'acknowledge': {
      const pattern = compilePattern(answer.pattern, DOT_ALL)
      return (text) =>
        pattern.test(text) ? ACKNOWLEDGED : unreadable(`"${text}" is not the acknowledgement`)
    }
    case 'text': {
      const pattern = compilePattern(answer.pattern, DOT_ALL)
      return (text) =>
        pattern.test(text) ? { kind: 'text', text: text.trim() } : unreadable(`"${text}" is not the answer`)
    }
    case 'bits': {
      const pattern = compilePattern(answer.pattern, DOT_ALL)
      return (text) => {
        const bits = readRegister(pattern.find(text)?.groups.bits ?? '', answer.base)
        return bits === undefined ? unreadable(`"${text}" is not a register`) : { kind: 'bits', bits }
      }
    }
    case 'value':
      return compileValue(answer)
  }
}

function compileValue(rule: ValueRule): (text: string) => Read {
  const { field, block, units, comma, specials, status } = rule
  const bare = field === undefined && !block && units === undefined && !comma && rule.pattern === BARE_NUMBER
  if (bare && isEmpty(specials) && isEmpty(status)) return (text) => readValue(text, rule.unit)
  const pattern = compilePattern(rule.pattern, DOT_ALL)
  return (text) => {
    const part = partOf(text, rule)
    if (part === undefined) return unreadable(`"${text}" does not have the parts it should have`)
    const groups = pattern.find(part)?.groups
    const written = groups?.value
    if (groups === undefined || written === undefined)
      return unreadable(`"${part}" does not look like the answer`)
    const unitText = groups.unit
    let unit = rule.unit
    let power = 0
    if (units !== undefined && unitText !== undefined) {
      const known = Object.hasOwn(units, unitText) ? units[unitText] : undefined
      if (known === undefined) return unreadable(`unit "${unitText}" is not one this instrument should use`)
      unit = known.unit
      power = known.power
      if (unit !== rule.unit) return unreadable(`the answer is in ${unit}, not in ${rule.unit}`)
    }
    const input = groups.input
    const statusMark = Object.hasOwn(rule.status, groups.status ?? '')
      ? rule.status[groups.status ?? '']
      : undefined
    const marks = statusMark === undefined ? NO_MARKS : [statusMark]
    const special = Object.hasOwn(rule.specials, written.trim()) ? rule.specials[written.trim()] : undefined
    if (special !== undefined)
      return { kind: 'value', value: undefined, unit, marks: [special, ...marks], input }
    const read = readValue(rule.comma ? pointed(written) : written, unit, power)
    return read.kind === 'value' ? { ...read, marks: [...read.marks, ...marks], input } : read
  }
}

/** Reads one number in a unit: special values become marks, never values. */
export function readValue(written: string, unit: RawUnit, power = 0): Read {
  const number = readNumber(written)
  if (number.kind === 'special') return { kind: 'value', value: undefined, unit, marks: [number.mark] }
  if (number.kind === 'unreadable') return unreadable(`"${written}" is not a number`)
  return { kind: 'value', value: timesPowerOfTen(number.text, power), unit, marks: NO_MARKS }
}

/** A decimal comma as a point; a text that already has a point is left so that it cannot be read two ways. */
function pointed(text: string): string {
  return text.includes('.') ? 'unreadable' : text.replace(',', '.')
}

function partOf(text: string, rule: ValueRule): string | undefined {
  const inner = rule.block ? lastLine(readBlock(text.trimStart())) : text
  if (inner === undefined || rule.field === undefined) return inner
  return inner.split(rule.field.separator)[rule.field.index]
}

function lastLine(text: string | undefined): string | undefined {
  return text?.split('\n').findLast((line) => line.trim() !== '')
}

function isEmpty(record: object): boolean {
  return Object.keys(record).length === 0
}

function unreadable(words: string): Read {
  return { kind: 'unreadable', words }
}
