import { first, last } from '../../app/base/lists.ts'
import type { Mark } from '../../app/records/mark.ts'
import type { RawUnit } from '../../app/records/reading.ts'
import { readBinary } from '../language/binary.ts'
import { readBlock } from '../language/blocks.ts'
import { convertText } from '../language/linear.ts'
import { readNumber, timesPowerOfTen } from '../language/numbers.ts'
import { compilePattern } from '../language/pattern.ts'
import { readRegister } from '../language/status.ts'
import { type Answer, BARE_NUMBER, type Linear, type ValueRule } from './schema-answers.ts'

/** One value of a reply. */
export interface ValueRead {
  readonly kind: 'value'
  readonly value: string | undefined
  readonly unit: RawUnit
  readonly marks: readonly Mark[]
  /** The input the reply names, where it does, in the instrument's own counting. */
  readonly input?: string | undefined
  /** Its input by its place among several values, numbered from 1. */
  readonly place?: number
  /** Its moment on the instrument's own count, s, where the reply tells it. */
  readonly timeS?: number
  /** What was sent for this value alone, where that is not the whole reply. */
  readonly raw?: string
  /** All values of the reply, where it has several; this one is the last of them. */
  readonly row?: readonly ValueRead[]
}

/** What a reply says, by the answer's rule. */
export type Read =
  | { readonly kind: 'acknowledged' }
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'bits'; readonly bits: number }
  | ValueRead
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
  const { field, block, units, comma, specials, status, numbers, many, linear } = rule
  const bare = field === undefined && !block && units === undefined && !comma && rule.pattern === BARE_NUMBER
  const one = bare && isEmpty(specials) && isEmpty(status) ? undefined : compilePart(rule)
  const readOne = one ?? ((text: string) => readValue(text, rule.unit, 0, linear))
  if (many === undefined && numbers === undefined) {
    if (one === undefined) return readOne
    return (text) => {
      const part = partOf(text, rule)
      return part === undefined ? unreadable(`"${text}" does not have the parts it should have`) : one(part)
    }
  }
  return (text) => {
    const parts = rowOf(text, rule)
    if (parts === undefined) return unreadable('the answer does not hold the numbers it should hold')
    const row: ValueRead[] = []
    for (const [i, { text: part, raw }] of (many === undefined ? parts.slice(-1) : parts).entries()) {
      const read = readOne(part)
      if (read.kind !== 'value') return read
      const place = many?.of === 'inputs' && read.input === undefined ? { place: many.first + i } : {}
      const timeS = read.timeS === undefined ? {} : { timeS: read.timeS * 10 ** (many?.timePower ?? 0) }
      row.push({ ...read, raw, ...place, ...timeS })
    }
    return many === undefined ? first(row) : { ...last(row), row }
  }
}

type PartRule = Pick<ValueRule, 'pattern' | 'unit' | 'units' | 'comma' | 'specials' | 'status' | 'linear'>

/** Makes the reader of one value by its pattern. */
export function compilePart(rule: PartRule): (part: string) => Read {
  const { units, comma, specials, status, linear } = rule
  const pattern = compilePattern(rule.pattern, DOT_ALL)
  return (part) => {
    const groups = pattern.find(part)?.groups
    const written = groups?.value
    if (groups === undefined || written === undefined)
      return unreadable(`"${part}" does not look like the answer`)
    const unitText = groups.unit
    let power = 0
    if (units !== undefined && unitText !== undefined) {
      const known = Object.hasOwn(units, unitText) ? units[unitText] : undefined
      if (known === undefined) return unreadable(`unit "${unitText}" is not one this instrument should use`)
      if (known.unit !== rule.unit) return unreadable(`the answer is in ${known.unit}, not in ${rule.unit}`)
      power = known.power
    }
    const input = groups.input
    const timeS = groups.time === undefined ? undefined : Number(groups.time)
    if (timeS !== undefined && !Number.isFinite(timeS)) return unreadable(`"${groups.time}" is not a time`)
    const more = { input, ...(timeS !== undefined && { timeS }) }
    const statusMark = Object.hasOwn(status, groups.status ?? '') ? status[groups.status ?? ''] : undefined
    const marks = statusMark === undefined ? NO_MARKS : [statusMark]
    const word = written.trim()
    const special = Object.hasOwn(specials, word) ? specials[word] : undefined
    if (special !== undefined)
      return { kind: 'value', value: undefined, unit: rule.unit, marks: [special, ...marks], ...more }
    const read = readValue(comma ? pointed(written) : written, rule.unit, power, linear)
    return read.kind === 'value' ? { ...read, marks: [...read.marks, ...marks], ...more } : read
  }
}

/** Reads one number in a unit: special values become marks, never values. */
export function readValue(written: string, unit: RawUnit, power = 0, linear?: Linear): Read {
  const number = readNumber(written)
  if (number.kind === 'special') return { kind: 'value', value: undefined, unit, marks: [number.mark] }
  if (number.kind === 'unreadable') return unreadable(`"${written}" is not a number`)
  const sent = timesPowerOfTen(number.text, power)
  const value = linear === undefined ? sent : convertText(sent, linear)
  if (value === undefined) return unreadable(`"${written}" cannot be converted`)
  return { kind: 'value', value, unit, marks: NO_MARKS }
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

/** The values of a row, as text, each with what was sent for it. */
function rowOf(text: string, rule: ValueRule): { text: string; raw: string }[] | undefined {
  const { block, numbers, many } = rule
  const inner = block ? readBlock(text.trimStart()) : text
  if (inner === undefined) return undefined
  if (numbers !== undefined) return readBinary(inner, numbers.type, numbers.order)
  const parts = inner.split(many!.separator!).map((part) => part.trim())
  // A separator after the last value separates nothing.
  if (parts.length > 1 && parts.at(-1) === '') parts.pop()
  return parts.map((part) => ({ text: part, raw: part }))
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
