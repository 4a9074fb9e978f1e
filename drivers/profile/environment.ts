import type { StopSignal } from '../../app/base/clock.ts'
import { type EnvironmentSensor, InstrumentError, type Measured } from '../../app/instruments/faces.ts'
import { said } from '../../app/messages/said.ts'
import type { Mark } from '../../app/records/mark.ts'
import { compilePattern, type Matcher } from '../language/pattern.ts'
import { type InstrumentOptions, ProfileInstrument } from './instrument.ts'
import { readValue } from './reply.ts'
import type { Profile } from './schema.ts'
import type { Linear } from './schema-answers.ts'
import { commandsIn } from './schema-steps.ts'
import type { Done } from './speaker.ts'
import type { Telegram } from './telegrams.ts'

type Where = NonNullable<NonNullable<Profile['quantities']>[keyof NonNullable<Profile['quantities']>]>
type Quantities = Awaited<ReturnType<EnvironmentSensor['readAll']>>

/** An environment sensor as its profile describes it: asked, or talking by itself. */
export class ProfileEnvironmentSensor extends ProfileInstrument<'environment'> implements EnvironmentSensor {
  readonly #pattern: Matcher

  constructor(options: InstrumentOptions) {
    super('environment', options)
    const { stream, capabilities, commands } = this.rules
    const asked = commands[commandsIn(capabilities['read-all']).at(-1) ?? '']?.answer
    const pattern = stream?.pattern ?? (asked?.kind === 'text' ? asked.pattern : '.*')
    this.#pattern = compilePattern(pattern, { dotAll: true })
  }

  async readAll(signal?: StopSignal): Promise<Quantities> {
    try {
      if (this.rules.stream === undefined) return await this.#ask(signal)
      return this.#split(await this.#current(signal))
    } catch (error) {
      if (!(error instanceof InstrumentError) || error.code === 'refused' || error.code === 'stopped')
        throw error
      const missed = await this.missed(error, '1')
      return this.#each((unit) => ({ ...missed, unit }))
    }
  }

  #ask(signal: StopSignal | undefined): Promise<Quantities> {
    return this.task(signal, async (talk) => {
      const done = await this.capability(talk, 'read-all', {})
      const told = done.ok ? await this.watch(talk, 'read') : undefined
      const marks: Mark[] = [...(told?.marks ?? []), ...this.takeHistory()]
      const text = done.ok && done.read.kind === 'text' ? done.read.text : undefined
      if (!done.ok) return this.#each((unit) => this.measured(done, unit, marks))
      return this.#split({ raw: done.raw, text, words: told?.words ?? '', at: done.at, marks })
    })
  }

  /** The newest telegram, or the next one when there is none or it is old. */
  async #current(signal: StopSignal | undefined): Promise<Telegram> {
    const { freshS, longestSilenceS } = this.rules.stream!
    const telegrams = this.line.telegrams!
    const { latest } = telegrams
    const nowUs = this.clock.now().monoUs
    if (latest !== undefined && nowUs - latest.at.monoUs <= freshS * 1e6) return latest
    if (this.status.state !== 'ready') throw this.error('lost', this.status.said)
    const next = await telegrams.next(longestSilenceS * 1000, signal)
    if (next !== undefined) return next
    const why = said('nothing-heard', { seconds: longestSilenceS })
    this.link.reconnect(why)
    return { raw: '', text: undefined, words: why.words, at: this.clock.now(), marks: ['silent'] }
  }

  #split(telegram: Telegram): Quantities {
    const groups = telegram.text === undefined ? undefined : this.#pattern.find(telegram.text)?.groups
    return this.#each((unit, { group, linear }) => this.#part(telegram, unit, groups?.[group], linear))
  }

  #part(
    { raw, at, text, words, marks }: Telegram,
    unit: Measured['unit'],
    written: string | undefined,
    linear: Linear | undefined,
  ): Measured {
    const read = written === undefined ? undefined : readValue(written, unit, 0, linear)
    const value = read?.kind === 'value' ? read : undefined
    const bad: Mark[] = text === undefined || value !== undefined ? [] : ['not-a-number']
    const nothing = { kind: 'value', value: undefined, unit, marks: [] } as const
    const done: Done = { ok: true, raw, at, read: value ?? nothing }
    return this.measured(done, unit, [...marks, ...bad], words)
  }

  #each(make: (unit: Measured['unit'], where: Where) => Measured): Quantities {
    return Object.entries(this.rules.quantities ?? {}).map(([quantity, where]) => ({
      quantity: quantity as Quantities[number]['quantity'],
      measured: make(where.unit, where),
    }))
  }
}
