import { isoUtc } from '../../../app/base/clock.ts'
import type { Reading } from '../../../app/records/reading.ts'
import { RowBytes } from './row-bytes.ts'
import type { Shown } from './shown.ts'
import { FORM, guardCell, plainNumber, quoted, type TableStyle } from './text.ts'

/** What a row says of its channel, which is the same from scan to scan. */
interface Same {
  readonly reading: Pick<Reading, 'unit' | 'currentMa' | 'marks'>
  readonly shown: Pick<Shown, 'channelName' | 'thermometer' | 'serial' | 'shownUnit'>
  readonly channel: string
  /** From the unit to the serial number. */
  readonly middle: string
  readonly shownUnit: string
}

/** Letters, digits and signs of which a cell may consist that needs neither quotes nor an apostrophe. */
const SAFE = Uint8Array.from({ length: 128 }, (_, code) =>
  /[0-9A-Za-z.+-]/.test(String.fromCharCode(code)) ? 1 : 0,
)
const [PLUS, COMMA, MINUS, POINT] = [43, 44, 45, 46]

/**
 * Rows as csv-stringify writes them (a test holds them against it), as bytes and many times as fast: five million are asked for at
 * once. What is the same in row after row is made once.
 */
export class CsvRows {
  readonly #style: TableStyle
  readonly #delimiter: number
  readonly #out = new RowBytes()
  readonly #same = new Map<string, Same>()
  #second = Number.NaN
  #secondWords = ''

  constructor(style: TableStyle = 'point') {
    this.#style = style
    this.#delimiter = FORM[style].delimiter.charCodeAt(0)
  }

  /** The bytes are good until the next call. */
  bytes(readings: readonly Reading[], shownOf: (reading: Reading) => Shown): Uint8Array {
    const out = this.#out
    const d = this.#delimiter
    for (const r of readings) {
      const s = shownOf(r)
      const same = this.#sameOf(r, s)
      out.whole(r.seq)
      out.byte(d)
      this.#utc(r.utcUs)
      out.byte(d)
      this.#seconds(r.monoUs)
      out.byte(d)
      out.text(same.channel)
      out.byte(d)
      this.#raw(r.raw)
      out.byte(d)
      this.#value(r.value)
      out.byte(d)
      out.text(same.middle)
      out.byte(d)
      this.#figure(s.resistanceOhm)
      out.byte(d)
      this.#figure(s.voltageMv)
      out.byte(d)
      this.#figure(s.celsius)
      out.byte(d)
      this.#figure(s.expandedMk)
      out.byte(d)
      this.#figure(s.shown)
      out.byte(d)
      out.text(same.shownUnit)
    }
    return out.take()
  }

  #sameOf(r: Reading, s: Shown): Same {
    const known = this.#same.get(r.channel)
    if (
      known &&
      known.reading.unit === r.unit &&
      known.reading.currentMa === r.currentMa &&
      known.reading.marks === r.marks &&
      known.shown.channelName === s.channelName &&
      known.shown.thermometer === s.thermometer &&
      known.shown.serial === s.serial &&
      known.shown.shownUnit === s.shownUnit
    )
      return known
    const name = (text: string) => this.#cell(guardCell(text))
    const current = this.#cell(this.#decimal(String(r.currentMa ?? '')))
    const marks = this.#cell(r.marks.join(' '))
    const made: Same = {
      reading: r,
      shown: s,
      channel: name(r.channel),
      middle: [
        this.#cell(r.unit),
        current,
        marks,
        name(s.channelName),
        name(s.thermometer),
        name(s.serial),
      ].join(FORM[this.#style].delimiter),
      shownUnit: `${this.#cell(s.shownUnit)}\r\n`,
    }
    this.#same.set(r.channel, made)
    return made
  }

  readonly #cell = (text: string) => quoted(text, this.#style)
  readonly #decimal = (text: string) => (this.#style === 'comma' ? text.replace('.', ',') : text)

  /** As isoUtc; what comes before the fraction of a second is made once a second. */
  #utc(utcUs: number): void {
    const now = Math.floor(utcUs / 1e6)
    if (now !== this.#second) {
      this.#second = now
      this.#secondWords = `${isoUtc(now * 1e6).slice(0, 19)}.`
    }
    this.#out.text(this.#secondWords)
    this.#out.whole(utcUs - now * 1e6, 6)
    this.#out.byte(90)
  }

  /** As sessionSeconds. */
  #seconds(monoUs: number): void {
    const us = Math.abs(monoUs)
    const whole = Math.floor(us / 1e6)
    if (monoUs < 0) this.#out.byte(MINUS)
    this.#out.whole(whole)
    this.#out.byte(this.#style === 'comma' ? COMMA : POINT)
    this.#out.whole(us - whole * 1e6, 6)
  }

  /** What was sent stays as it was. A spreadsheet with a decimal comma would take 1.04 for a day in April. */
  #raw(text: string): void {
    if (this.#style === 'comma' && plainNumber.test(text) && text.includes('.'))
      this.#out.text(this.#cell(`'${text}`))
    else if (!this.#plain(text)) this.#out.text(this.#cell(guardCell(text)))
  }

  #value(text: string | null): void {
    if (text !== null && (this.#style === 'comma' || !this.#plain(text)))
      this.#out.text(this.#cell(this.#decimal(text)))
  }

  /** Writes a cell that is the same with and without quotes and guard; says so where it is not. */
  #plain(text: string): boolean {
    const first = text.charCodeAt(0)
    if ((first === PLUS || first === MINUS) && !plainNumber.test(text)) return false
    for (let i = 0; i < text.length; i++) if (SAFE[text.charCodeAt(i)] !== 1) return false
    this.#out.text(text)
    return true
  }

  #figure(value: number | null): void {
    if (value !== null) this.#out.text(this.#cell(this.#decimal(String(value))))
  }
}
