import {
  InstrumentError,
  type Measured,
  type MeasureRequest,
  type Meter,
} from '../../app/instruments/faces.ts'
import { asTold, said } from '../../app/messages/said.ts'
import type { Mark } from '../../app/records/mark.ts'
import type { RawUnit } from '../../app/records/reading.ts'
import type { Conversation } from '../link/conversation.ts'
import { type InstrumentOptions, type Line, ProfileInstrument } from './instrument.ts'
import { compilePart, type Read } from './reply.ts'
import { sortRow } from './row.ts'
import type { Done } from './speaker.ts'
import { printInput, type Values } from './template.ts'

/** How a number is understood where a profile says nothing of it. */
const WORDS = { units: undefined, comma: false, specials: {}, status: {}, linear: undefined }

/** Takes the place of the capability `measure` where a list of commands is not enough. */
export type MeasureSequence = (line: Line, values: Values) => Promise<Done>

/** A ratio bridge or meter as its profile describes it. */
export class ProfileMeter extends ProfileInstrument<'ratio-bridge' | 'meter'> implements Meter {
  readonly unit: RawUnit
  readonly inputs: number
  readonly ranges?: readonly string[]
  readonly keepWarm?: (input: number, currentMa: number) => Promise<void>
  readonly #sequence: MeasureSequence | undefined
  readonly #readTelegram: ((text: string) => Read) | undefined
  /** What the instrument was last told, so that it is told again only when it changes. */
  #set: { input?: number; current?: number; average?: number; range?: string } = {}

  constructor(role: 'ratio-bridge' | 'meter', options: InstrumentOptions, sequence?: MeasureSequence) {
    super(role, options)
    this.unit = this.rules.unit ?? '1'
    this.inputs = this.rules.inputs?.count ?? 1
    this.#sequence = sequence
    const { stream, ranges } = this.rules
    if (ranges !== undefined) this.ranges = ranges.map(({ name }) => name)
    if (stream !== undefined)
      this.#readTelegram = compilePart({
        ...WORDS,
        ...stream.value,
        pattern: stream.pattern,
        unit: this.unit,
      })
    if (this.rules.capabilities['keep-warm'] !== undefined) {
      this.keepWarm = async (input, currentMa) => {
        this.refuseInput(input)
        this.refuseOutside('keep-warm', 'current', currentMa)
        await this.#order('keep-warm', { input, current: currentMa })
      }
    }
  }

  async measure(request: MeasureRequest): Promise<Measured> {
    const { input, currentMa, average, range } = request
    if (input !== undefined) this.refuseInput(input)
    if (range !== undefined) this.#refuseRange(range)
    if (currentMa !== undefined) this.#refuseCurrent(currentMa)
    if (average !== undefined) this.#refuseAverage(average)
    try {
      return await this.task(request.signal, (talk) => this.#measureTwice(talk, request))
    } catch (error) {
      if (error instanceof InstrumentError && error.code !== 'refused' && error.code !== 'stopped') {
        return this.missed(error, this.unit)
      }
      throw error
    }
  }

  onDidDoubt(listener: () => void): { dispose(): void } {
    this.doubts.add(listener)
    return { dispose: () => this.doubts.delete(listener) }
  }

  override forget(): void {
    this.#set = {}
  }

  /** A power cut found right after a reading means that its settings may have been lost: it is taken again. */
  async #measureTwice(talk: Conversation, request: MeasureRequest): Promise<Measured> {
    const first = await this.#measureOnce(talk, request)
    if (!first.again) return first.measured
    await this.line.prepare(talk)
    return (await this.#measureOnce(talk, request)).measured
  }

  async #measureOnce(
    talk: Conversation,
    request: MeasureRequest,
  ): Promise<{ measured: Measured; again: boolean }> {
    const values: Record<string, number> = {
      input: request.input ?? this.#set.input ?? 1,
      average: request.average ?? this.#set.average ?? 1,
    }
    const settings = await this.#apply(talk, request)
    if (settings !== undefined) return this.#finish(settings)
    const from = this.clock.now()
    const answered = await this.#take(talk, values)
    if (!answered.ok) return this.#finish(answered)
    const row =
      answered.read.kind === 'value' && answered.read.row !== undefined
        ? sortRow({
            read: answered.read,
            input: values.input!,
            inputs: this.rules.inputs,
            from,
            at: answered.at,
          })
        : undefined
    if (row !== undefined && row.own === undefined) {
      talk.spoilBefore(`an answer came that has no value of input ${values.input}`)
      const { raw, at } = answered
      return this.#finish({
        ok: false,
        why: 'garbled',
        raw,
        at,
        words: 'the answer lacks the input asked for',
      })
    }
    const done = row === undefined ? answered : { ...answered, read: row.own! }
    const said = done.read.kind === 'value' ? done.read.input : undefined
    const wanted = this.rules.inputs === undefined ? undefined : printInput(values.input!, this.rules.inputs)
    if (said !== undefined && wanted !== undefined && said !== wanted) {
      talk.spoilBefore(`an answer for input ${said} came instead of input ${wanted}`)
      return this.#finish({
        ok: false,
        why: 'garbled',
        raw: done.raw,
        at: done.at,
        words: `the answer is for input ${said}`,
      })
    }
    const told = await this.watch(talk, 'read')
    if (told.poweredUp) return { measured: this.measured(done, this.unit), again: true }
    // An order may have been refused in silence: everything is set again before the next reading.
    if (told.marks.includes('instrument-error')) this.forget()
    const marks: Mark[] = [...told.marks, ...this.takeHistory()]
    // What came in place of the register may be the answer that was meant, and this one that to an earlier question.
    if (told.fault?.why === 'garbled') marks.push('doubtful-answer')
    const words = told.fault === undefined ? told.words : `afterwards: ${told.words}`
    const measured: Measured = {
      ...this.measured(done, this.unit, [...marks, ...this.#beyond(done)], words),
      ...(said !== undefined && { namesInput: true as const }),
      ...(row !== undefined &&
        row.others.length > 0 && {
          row: row.others.map((each) => ({ ...each, marks: [...new Set([...each.marks, ...marks])] })),
        }),
      ...(row?.moments !== undefined && { moments: row.moments }),
    }
    return { measured, again: false }
  }

  /** One answer to one measurement, or the next telegram of an instrument that tells by itself. */
  async #take(talk: Conversation, values: Values): Promise<Done> {
    const sequence = this.#sequence
    if (sequence !== undefined) {
      const perform = (name: string, more?: Values) => this.speaker.perform(talk, name, more)
      return sequence({ perform, clock: this.clock }, values)
    }
    if (this.#readTelegram === undefined) return this.capability(talk, 'measure', values)
    return this.#hearNext(talk, this.#readTelegram)
  }

  /** The first telegram whose measurement began after now: an earlier one may be of another input or current. */
  async #hearNext(talk: Conversation, read: (text: string) => Read): Promise<Done> {
    const { longestSilenceS, takesMs = 0 } = this.rules.stream!
    const fromUs = this.clock.now().monoUs + takesMs * 1000
    const endUs = fromUs + longestSilenceS * 1e6
    for (;;) {
      const leftMs = (endUs - this.clock.now().monoUs) / 1000
      const telegram = leftMs > 0 ? await this.line.telegrams!.next(leftMs) : undefined
      if (telegram === undefined) {
        const why = said('nothing-heard', { seconds: longestSilenceS })
        const { words } = why
        if (talk.closed) return { ok: false, why: 'lost', raw: '', at: this.clock.now(), words: 'link lost' }
        this.link.reconnect(why)
        return { ok: false, why: 'silent', raw: '', at: this.clock.now(), words }
      }
      if (telegram.at.monoUs < fromUs) continue
      const { raw, at, text, words } = telegram
      if (text === undefined) return { ok: false, why: 'garbled', raw, at, words }
      const value = read(text)
      if (value.kind !== 'value') return { ok: false, why: 'garbled', raw, at, words: 'no value in it' }
      return { ok: true, raw, at, read: { ...value, marks: [...value.marks, ...telegram.marks] } }
    }
  }

  /** A value larger than the range that is set: what the instrument says of it is no measurement. */
  #beyond(done: Done): Mark[] {
    const range = this.rules.ranges?.find(({ name }) => name === this.#set.range)
    const value = done.ok && done.read.kind === 'value' ? done.read.value : undefined
    if (range?.upTo === undefined || value === undefined) return []
    return Math.abs(Number(value)) > range.upTo ? ['over-range'] : []
  }

  #finish(done: Extract<Done, { ok: false }>): { measured: Measured; again: boolean } {
    this.forget()
    return { measured: this.measured(done, this.unit, this.takeHistory()), again: false }
  }

  /** Tells the instrument what differs from what it was told last; the first fault, if any. */
  async #apply(
    talk: Conversation,
    request: MeasureRequest,
  ): Promise<Extract<Done, { ok: false }> | undefined> {
    const { input, currentMa, average, range } = request
    const wanted = [
      ['input', 'select-input', input],
      ['range', 'set-range', range],
      ['current', 'set-current', currentMa],
      ['average', 'set-average', average],
    ] as const
    for (const [key, capability, value] of wanted) {
      if (
        value === undefined ||
        value === this.#set[key] ||
        this.rules.capabilities[capability] === undefined
      )
        continue
      const done = await this.capability(talk, capability, { [key]: value })
      if (!done.ok) return done
      Object.assign(this.#set, { [key]: value })
      const pauseMs = key === 'range' ? this.rules.ranges?.find(({ name }) => name === value)?.pauseMs : 0
      if (pauseMs !== undefined && pauseMs > 0) await this.clock.sleep(pauseMs)
    }
    return undefined
  }

  async #order(capability: string, values: Values): Promise<void> {
    await this.task(undefined, async (talk) => {
      const done = await this.capability(talk, capability, values)
      if (!done.ok) throw this.errorOf(done)
      const told = await this.watch(talk, 'set')
      if (told.marks.includes('instrument-error')) throw this.error('instrument-said', asTold(told.words))
    })
  }

  #refuseRange(range: string): void {
    const names = this.ranges ?? []
    if (names.includes(range)) return
    const words = names.length > 0 ? `it has ${names.join(', ')}` : 'it has none to choose'
    throw this.error('refused', said('no-such-range', { range, words }))
  }

  #refuseCurrent(currentMa: number): void {
    if (this.rules.capabilities['set-current'] !== undefined)
      this.refuseOutside('set-current', 'current', currentMa)
  }

  #refuseAverage(average: number): void {
    if (this.rules.capabilities['set-average'] !== undefined)
      this.refuseOutside('set-average', 'average', average)
    else if (average !== 1) throw this.error('refused', said('does-not-average', {}))
  }
}
