import type { Disposable, Instant, StopSignal } from '../../app/base/clock.ts'
import { type EnvironmentSensor, InstrumentError, type Measured } from '../../app/instruments/faces.ts'
import type { Mark } from '../../app/records/mark.ts'
import { readNumber } from '../language/numbers.ts'
import { compilePattern, type Matcher } from '../language/pattern.ts'
import type { Conversation } from '../link/conversation.ts'
import { undress } from './dress.ts'
import { type InstrumentOptions, ProfileInstrument } from './instrument.ts'
import type { Done } from './speaker.ts'

type Quantities = Awaited<ReturnType<EnvironmentSensor['readAll']>>

interface Telegram {
  readonly raw: string
  readonly text: string | undefined
  readonly words: string
  readonly at: Instant
  readonly marks: readonly Mark[]
}

/** An environment sensor as its profile describes it: asked, or talking by itself. */
export class ProfileEnvironmentSensor extends ProfileInstrument<'environment'> implements EnvironmentSensor {
  readonly #pattern: Matcher
  #latest: Telegram | undefined
  #count: number | undefined
  #waiting: ((telegram: Telegram) => void)[] = []

  constructor(options: InstrumentOptions) {
    super('environment', options)
    const { stream, capabilities, commands } = this.rules
    const asked = commands[capabilities['read-all']?.at(-1) ?? '']?.answer
    const pattern = stream?.pattern ?? (asked?.kind === 'text' ? asked.pattern : '.*')
    this.#pattern = compilePattern(pattern, { dotAll: true })
    if (stream !== undefined) this.firstTelegram = (talk) => this.#listen(talk)
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
    const latest = this.#latest
    const nowUs = this.clock.now().monoUs
    if (latest !== undefined && nowUs - latest.at.monoUs <= freshS * 1e6) return latest
    if (this.status.state !== 'ready') throw this.error('lost', this.status.words)
    const next = await this.#next(longestSilenceS * 1000, signal)
    if (next !== undefined) return next
    this.link.reconnect(`nothing was heard for ${longestSilenceS} s`)
    return {
      raw: '',
      text: undefined,
      words: `nothing was heard for ${longestSilenceS} s`,
      at: this.clock.now(),
      marks: ['silent'],
    }
  }

  #next(ms: number, signal?: StopSignal): Promise<Telegram | undefined> {
    return new Promise((resolve, reject) => {
      let timer: Disposable | undefined
      const end = (telegram: Telegram | undefined) => {
        timer?.dispose()
        signal?.removeEventListener('abort', onAbort)
        this.#waiting = this.#waiting.filter((each) => each !== end)
        resolve(telegram)
      }
      const onAbort = () => {
        end(undefined)
        reject(signal?.reason)
      }
      timer = this.clock.after(ms, () => end(undefined))
      this.#waiting.push(end)
      signal?.addEventListener('abort', onAbort)
    })
  }

  /** Hears telegrams from now on; the first one is the identity. */
  async #listen(talk: Conversation): Promise<string> {
    this.#latest = undefined
    talk.hearUnasked((raw, at) => {
      this.#hear(raw, at)
      return true
    })
    const endUs = this.clock.now().monoUs + this.rules.stream!.longestSilenceS * 1e6
    const identity = compilePattern(this.rules.identity.pattern, { dotAll: true })
    for (;;) {
      const leftMs = (endUs - this.clock.now().monoUs) / 1000
      const telegram = leftMs > 0 ? await this.#next(leftMs) : undefined
      if (talk.closed) throw this.error('lost', 'the link was lost while waiting for the first telegram')
      if (telegram === undefined) {
        throw this.error(
          'silent',
          `nothing readable was heard for ${this.rules.stream!.longestSilenceS} s: check baud rate and that the sensor is on.`,
        )
      }
      if (telegram.text === undefined) continue
      if (identity.test(telegram.text)) return telegram.text
      throw this.error(
        'wrong-instrument',
        `"${telegram.text}" is heard here, which is not what the profile ${this.rules.id} is for.`,
      )
    }
  }

  #hear(raw: string, at: Instant): void {
    const shell = undress(raw, this.rules)
    const readable = 'text' in shell && this.#pattern.test(shell.text)
    const telegram: Telegram = {
      raw,
      text: readable ? shell.text : undefined,
      words: 'wrong' in shell ? shell.wrong : readable ? '' : 'the telegram does not look as it should',
      at,
      marks: readable ? this.#follow(shell.text) : ['garbled'],
    }
    this.#latest = telegram
    for (const tell of this.#waiting) tell(telegram)
  }

  /** Telegrams are numbered: a number left out is a gap, and starting anew is a power cut. */
  #follow(text: string): readonly Mark[] {
    const { countAtPowerUp, countHighest } = this.rules.stream!
    const said = this.#pattern.find(text)?.groups?.count
    if (said === undefined) return []
    const before = this.#count
    const count = Number(said)
    this.#count = count
    if (before === undefined) return []
    const next = countHighest !== undefined && before >= countHighest ? 0 : before + 1
    if (count === next) return []
    return count === countAtPowerUp || count < before ? ['power-cycled', 'gap-before'] : ['gap-before']
  }

  #split(telegram: Telegram): Quantities {
    const groups = telegram.text === undefined ? undefined : this.#pattern.find(telegram.text)?.groups
    return this.#each((unit, group) => this.#part(telegram, unit, groups?.[group]))
  }

  #part(telegram: Telegram, unit: Measured['unit'], written: string | undefined): Measured {
    const number = written === undefined ? undefined : readNumber(written)
    const bad: Mark[] =
      telegram.text === undefined
        ? []
        : number?.kind === 'number'
          ? []
          : [number?.kind === 'special' ? number.mark : 'not-a-number']
    const done: Done = {
      ok: true,
      raw: telegram.raw,
      at: telegram.at,
      read: { kind: 'value', value: number?.kind === 'number' ? number.text : undefined, unit, marks: [] },
    }
    return this.measured(done, unit, [...telegram.marks, ...bad], telegram.words)
  }

  #each(make: (unit: Measured['unit'], group: string) => Measured): Quantities {
    return Object.entries(this.rules.quantities ?? {}).map(([quantity, where]) => ({
      quantity: quantity as Quantities[number]['quantity'],
      measured: make(where.unit, where.group),
    }))
  }
}
