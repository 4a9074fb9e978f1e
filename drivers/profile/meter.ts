import {
  InstrumentError,
  type Measured,
  type MeasureRequest,
  type Meter,
} from '../../app/instruments/faces.ts'
import type { Mark } from '../../app/records/mark.ts'
import type { RawUnit } from '../../app/records/reading.ts'
import type { Conversation } from '../link/conversation.ts'
import { type InstrumentOptions, type Line, ProfileInstrument } from './instrument.ts'
import type { Done } from './speaker.ts'
import { printInput, type Values } from './template.ts'

/** Takes the place of the capability `measure` where a list of commands is not enough. */
export type MeasureSequence = (line: Line, values: Values) => Promise<Done>

/** A ratio bridge or meter as its profile describes it. */
export class ProfileMeter extends ProfileInstrument<'ratio-bridge' | 'meter'> implements Meter {
  readonly unit: RawUnit
  readonly inputs: number
  readonly keepWarm?: (input: number, currentMa: number) => Promise<void>
  readonly #sequence: MeasureSequence | undefined
  /** What the instrument was last told, so that it is told again only when it changes. */
  #set: { input?: number; current?: number; average?: number } = {}

  constructor(role: 'ratio-bridge' | 'meter', options: InstrumentOptions, sequence?: MeasureSequence) {
    super(role, options)
    this.unit = this.rules.unit ?? '1'
    this.inputs = this.rules.inputs?.count ?? 1
    this.#sequence = sequence
    if (this.rules.capabilities['keep-warm'] !== undefined) {
      this.keepWarm = async (input, currentMa) => {
        this.refuseInput(input)
        this.refuseOutside('keep-warm', 'current', currentMa)
        await this.#order('keep-warm', { input, current: currentMa })
      }
    }
  }

  async measure(request: MeasureRequest): Promise<Measured> {
    const { input, currentMa, average } = request
    if (input !== undefined) this.refuseInput(input)
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

  protected override forget(): void {
    this.#set = {}
  }

  /** A power cut found right after a reading means that its settings may have been lost: it is taken again. */
  async #measureTwice(talk: Conversation, request: MeasureRequest): Promise<Measured> {
    const first = await this.#measureOnce(talk, request)
    if (!first.again) return first.measured
    await this.prepare(talk)
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
    const sequence = this.#sequence
    const done =
      sequence === undefined
        ? await this.capability(talk, 'measure', values)
        : await sequence(
            { perform: (name, more) => this.speaker.perform(talk, name, more), clock: this.clock },
            values,
          )
    if (!done.ok) return this.#finish(done)
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
    const measured = this.measured(done, this.unit, marks, words)
    return { measured: said === undefined ? measured : { ...measured, namesInput: true }, again: false }
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
    const { input, currentMa, average } = request
    const wanted = [
      ['input', 'select-input', input],
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
      this.#set[key] = value
    }
    return undefined
  }

  async #order(capability: string, values: Values): Promise<void> {
    await this.task(undefined, async (talk) => {
      const done = await this.capability(talk, capability, values)
      if (!done.ok) throw this.errorOf(done)
      const told = await this.watch(talk, 'set')
      if (told.marks.includes('instrument-error')) throw this.error('instrument-said', told.words)
    })
  }

  #refuseCurrent(currentMa: number): void {
    if (this.rules.capabilities['set-current'] !== undefined)
      this.refuseOutside('set-current', 'current', currentMa)
  }

  #refuseAverage(average: number): void {
    if (this.rules.capabilities['set-average'] !== undefined)
      this.refuseOutside('set-average', 'average', average)
    else if (average !== 1)
      throw this.error('refused', 'this instrument does not average; take more readings instead')
  }
}
