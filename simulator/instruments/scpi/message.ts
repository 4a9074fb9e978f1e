import { ScpiFault } from './errors.ts'

export interface Unit {
  /** Upper-case header without leading colon, with its `?` when it is a query. */
  header: string
  /** True when the header starts from the top: leading colon or common command. */
  absolute: boolean
  args: Args
}

/** Splits at a separator that stands outside quotes and parentheses. */
function splitOutside(text: string, separator: string): string[] {
  const parts: string[] = []
  let quote = ''
  let depth = 0
  let start = 0
  for (let i = 0; i < text.length; i += 1) {
    const c = text[i]!
    if (quote !== '') {
      if (c === quote) quote = ''
    } else if (c === '"' || c === "'") quote = c
    else if (c === '(') depth += 1
    else if (c === ')') depth -= 1
    else if (c === separator && depth === 0) {
      parts.push(text.slice(start, i))
      start = i + 1
    }
  }
  if (quote !== '' || depth !== 0) throw new ScpiFault(-102)
  parts.push(text.slice(start))
  return parts
}

/** Reads a program message into its units; throws ScpiFault -102 when it cannot be read. */
export function parseMessage(line: string): Unit[] {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters in a line are what is looked for
  if (/[^\x09\x20-\x7e]/.test(line)) throw new ScpiFault(-102)
  const units: Unit[] = []
  for (const part of splitOutside(line, ';')) {
    const text = part.trim()
    if (text === '') continue
    const found = /^(:?)(\*?[A-Za-z][A-Za-z0-9:]*\??)(?:\s+(.*))?$/.exec(text)
    if (!found) throw new ScpiFault(-102)
    const header = found[2]!.toUpperCase()
    const rest = found[3]?.trim() ?? ''
    units.push({
      header,
      absolute: found[1] === ':' || header.startsWith('*'),
      args: new Args(rest === '' ? [] : splitOutside(rest, ',').map((arg) => arg.trim())),
    })
  }
  return units
}

const NUMBER = /^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([A-Za-z]*)$/

/** The parameters of one unit, read with the errors SCPI has for them. */
export class Args {
  readonly #texts: readonly string[]

  constructor(texts: readonly string[]) {
    this.#texts = texts
  }

  /** Refuses fewer or more parameters than `count`. */
  expect(count: number): this {
    if (this.#texts.length > count) throw new ScpiFault(-108)
    if (this.#texts.length < count) throw new ScpiFault(-109)
    return this
  }

  /** A number within limits, in the unit whose factor is 1; without suffix that unit is meant. */
  number(
    index: number,
    limits: { low: number; high: number; suffixes?: Readonly<Record<string, number>> },
  ): number {
    const found = NUMBER.exec(this.#texts[index] ?? '')
    if (!found) throw new ScpiFault(-104)
    const suffix = found[2]!.toUpperCase()
    const factor = suffix === '' ? 1 : limits.suffixes?.[suffix]
    if (factor === undefined) throw new ScpiFault(-131)
    const value = Number(found[1]) * factor
    // A limit met exactly must not fail by the rounding of the suffix' factor.
    const slack = 1e-12 * Math.max(Math.abs(limits.low), Math.abs(limits.high))
    if (!(value >= limits.low - slack && value <= limits.high + slack)) throw new ScpiFault(-222)
    return value
  }

  integer(index: number, low: number, high: number): number {
    return Math.round(this.number(index, { low, high }))
  }

  boolean(index: number): boolean {
    const text = (this.#texts[index] ?? '').toUpperCase()
    if (text === 'ON') return true
    if (text === 'OFF') return false
    return this.number(index, { low: -32768, high: 32767 }) !== 0
  }

  /** One of a few words, long or short form: 'IMMediate' is met by IMM and IMMEDIATE. */
  word<W extends string>(index: number, words: readonly W[]): W {
    const text = (this.#texts[index] ?? '').toUpperCase()
    const met = words.find((word) => text === word.toUpperCase() || text === word.replace(/[a-z]/g, ''))
    if (met === undefined) throw new ScpiFault(-104)
    return met
  }

  quoted(index: number): string {
    const found = /^(["'])(.*)\1$/.exec(this.#texts[index] ?? '')
    if (!found) throw new ScpiFault(-104)
    return found[2]!
  }

  /** The single channel of a list such as (@103). */
  channel(index: number): number {
    const found = /^\(@\s*([\d\s,:]*)\)$/.exec(this.#texts[index] ?? '')
    if (!found) throw new ScpiFault(-104)
    const list = found[1]!.trim()
    if (list === '') throw new ScpiFault(-109)
    if (!/^\d+$/.test(list)) throw new ScpiFault(-108)
    return Number(list)
  }
}
