import type { Clock, Disposable, StopSignal } from '../../app/base/clock.ts'
import {
  type Identity,
  InstrumentError,
  type InstrumentErrorCode,
  type InstrumentRole,
  type LinkStatus,
  type Measured,
  type TrafficLine,
} from '../../app/instruments/faces.ts'
import { asTold, type Said, said } from '../../app/messages/said.ts'
import type { BenchInstrument } from '../../app/records/bench.ts'
import type { Mark } from '../../app/records/mark.ts'
import type { RawUnit } from '../../app/records/reading.ts'
import type { Conversation } from '../link/conversation.ts'
import type { Link } from '../link/link.ts'
import { Guard, type Limits } from './guard.ts'
import type { Face, ProfileLine } from './line.ts'
import type { Profile } from './schema.ts'
import { commandsIn } from './schema-steps.ts'
import { type Done, Speaker, type Told } from './speaker.ts'
import { doSteps } from './steps.ts'
import { printParameter, TemplateError, type Values } from './template.ts'

export interface InstrumentOptions {
  readonly spec: BenchInstrument
  readonly clock: Clock
  /** The profile of this instrument: the whole, or that of one part. */
  readonly profile: Profile
  /** The line it is upon, which it may share with other parts. */
  readonly line: ProfileLine
  /** Whether the profile is a part's, whose inputs and commands are its own. */
  readonly isPart: boolean
  /** Whether what answers takes no time for its work, as a scripted peer. */
  readonly atOnce?: boolean
}

/** What a hand-written sequence may use of the instrument. */
export interface Line {
  /** Does one command of the profile. */
  perform(name: string, values?: Values): Promise<Done>
  readonly clock: Clock
}

/** An instrument as its profile describes it: what all roles share. */
export class ProfileInstrument<Role extends InstrumentRole> implements Face {
  readonly id: string
  readonly profile: string
  readonly role: Role
  readonly speaker: Speaker
  protected readonly rules: Profile
  protected readonly clock: Clock
  protected readonly line: ProfileLine
  protected readonly link: Link
  protected readonly doubts = new Set<() => void>()
  readonly #spec: BenchInstrument
  readonly #guard: Guard
  /** Set when the instrument lost its settings: told on the next reading. */
  #powerCycled = false
  #gapBefore = false

  constructor(role: Role, options: InstrumentOptions) {
    const { spec, clock, profile, line } = options
    this.id = spec.id
    this.profile = profile.id
    this.role = role
    this.rules = profile
    this.clock = clock
    this.#spec = spec
    this.#guard = new Guard(profile)
    this.speaker = options.isPart ? new Speaker(profile, clock, options.atOnce) : line.speaker
    this.line = line
    this.link = line.link
    line.join(this)
  }

  /** Serial number that the bench has for it. */
  get serial(): string | undefined {
    return this.#spec.serial
  }

  get identity(): Identity | undefined {
    return this.link.identity
  }

  get status(): LinkStatus {
    return this.link.status
  }

  open(signal?: StopSignal): Promise<Identity> {
    return this.link.open(signal)
  }

  close(): Promise<void> {
    return this.line.leave(this)
  }

  onDidChangeStatus(listener: (status: LinkStatus) => void): Disposable {
    return this.link.onDidChangeStatus(listener)
  }

  onTraffic(listener: (line: TrafficLine) => void): Disposable {
    return this.link.traffic.listen(listener)
  }

  async converse(line: string, signal?: StopSignal): Promise<string | undefined> {
    const verdict = this.#guard.judge(line, this.line.limitsNow())
    if (!verdict.allowed)
      throw this.error('refused', said('line-not-allowed', { sentence: verdict.sentence }))
    const talks = this.rules.identity.ask !== undefined
    if (!talks) throw this.error('refused', said('instrument-only-talks', {}))
    const replies = this.rules.framing.prompt === undefined ? verdict.replies : 0
    return this.task(signal, async (talk) => {
      if (verdict.changes) this.line.forget()
      const outcome = await talk.exchange(this.speaker.request(line, replies))
      if (outcome.kind !== 'reply') throw this.error(outcome.kind, asTold(outcome.words ?? outcome.kind))
      // An error belongs to the line that was typed, not to the next reading.
      const told = await this.watch(talk, 'set')
      if (told.marks.includes('instrument-error')) throw this.error('instrument-said', asTold(told.words))
      return outcome.text === '' ? undefined : outcome.text
    })
  }

  /** Limits narrower than the profile's, by parameter. */
  limitsNow(): Limits {
    return {}
  }

  /** Forgets what was set, so that it is set again: after a loss, a power cut, a typed line. */
  forget(): void {}

  powerLost(): void {
    this.#powerCycled = true
  }

  gap(): void {
    this.#gapBefore = true
  }

  doubted(): void {
    for (const listener of this.doubts) listener()
  }

  /** Does a capability: its steps in order. The result is the last one that brought a value, or the first fault. */
  protected async capability(talk: Conversation, name: string, values: Values): Promise<Done> {
    const perform = (command: string) => this.speaker.perform(talk, command, values)
    const result = await doSteps(this.rules.capabilities[name] ?? [], { clock: this.clock, perform })
    if (result === undefined) throw this.error('refused', said('instrument-cannot', { name }))
    return result
  }

  /** Asks the watched register after a setting or a reading, where the profile says so. */
  protected async watch(talk: Conversation, after: 'set' | 'read'): Promise<Told> {
    const { watch } = this.rules
    if (watch === undefined || !watch.after.includes(after)) {
      return { poweredUp: this.line.takePoweredUp() && this.line.losePower(), marks: [], words: '' }
    }
    const told = await this.speaker.tell(talk)
    return this.line.takePoweredUp() ? { ...told, poweredUp: this.line.losePower() } : told
  }

  /** Runs a task alone on the line, prepared; the caller's signal ends the waiting, never half of an exchange. */
  protected task<T>(signal: StopSignal | undefined, work: (talk: Conversation) => Promise<T>): Promise<T> {
    if (signal?.aborted === true) return Promise.reject(signal.reason)
    const running = this.link.run(async (talk) => {
      if (signal?.aborted === true) throw signal.reason
      await this.line.begin(talk)
      return work(talk)
    })
    return signal === undefined ? running : untilAborted(running, signal)
  }

  /** Marks the next reading is to carry because of what happened since the last one; asking forgets them. */
  protected takeHistory(): Mark[] {
    const marks: Mark[] = []
    if (this.#powerCycled) marks.push('power-cycled')
    if (this.#gapBefore) marks.push('gap-before')
    this.#powerCycled = false
    this.#gapBefore = false
    return marks
  }

  /** A reading from what came of a command. */
  protected measured(done: Done, unit: RawUnit, extra: readonly Mark[] = [], words = ''): Measured {
    const read = done.read
    const value = read?.kind === 'value' ? read.value : undefined
    const own: Mark[] = done.ok ? [] : [MARK_OF[done.why]]
    const marks = [...new Set([...own, ...(read?.kind === 'value' ? read.marks : []), ...extra])]
    const note = [done.ok ? '' : done.words, words].filter((each) => each !== '').join('; ')
    const raw = (read?.kind === 'value' ? read.raw : undefined) ?? done.raw
    return { raw, value, unit, marks, at: done.at, ...(note === '' ? {} : { note }) }
  }

  /** A reading that could not be taken because there is no link. Waits as a missed answer would. */
  protected async missed(error: InstrumentError, unit: RawUnit): Promise<Measured> {
    await this.link.pace(this.rules.timing.firstByteMs)
    this.#gapBefore = true
    return { raw: '', value: undefined, unit, marks: ['silent'], at: this.clock.now(), note: error.message }
  }

  /** Refuses a value outside the limits of the commands that would carry it. */
  protected refuseOutside(capability: string, parameter: string, value: number | string): void {
    const names = this.rules.capabilities[capability]
    if (names === undefined) throw this.error('refused', said('instrument-cannot', { name: capability }))
    for (const name of commandsIn(names)) {
      const rule = this.rules.commands[name]?.parameters[parameter]
      if (rule === undefined) continue
      try {
        printParameter(parameter, value, rule)
      } catch (error) {
        if (error instanceof TemplateError)
          throw this.error('refused', said('line-not-allowed', { sentence: error.message }))
        throw error
      }
    }
  }

  protected refuseInput(input: number): void {
    const count = this.rules.inputs?.count ?? 1
    if (!Number.isInteger(input) || input < 1 || input > count) {
      throw this.error('refused', said('no-such-input', { input, count }))
    }
  }

  protected error(code: InstrumentErrorCode, why: Said): InstrumentError {
    return new InstrumentError(code, this.#spec.name, why)
  }

  protected errorOf(done: Extract<Done, { ok: false }>): InstrumentError {
    return this.error(done.why, asTold(done.words))
  }
}

const MARK_OF: Record<Extract<Done, { ok: false }>['why'], Mark> = {
  silent: 'silent',
  late: 'late',
  garbled: 'garbled',
  lost: 'silent',
  'instrument-said': 'instrument-error',
  'not-confirmed': 'instrument-error',
}

async function untilAborted<T>(running: Promise<T>, signal: StopSignal): Promise<T> {
  let onAbort = () => {}
  const aborted = new Promise<never>((_resolve, reject) => {
    onAbort = () => reject(signal.reason)
    signal.addEventListener('abort', onAbort)
  })
  try {
    return await Promise.race([running, aborted])
  } finally {
    signal.removeEventListener('abort', onAbort)
    // What still runs after the caller left ends by itself; its fault was the link's to tell.
    running.catch(() => undefined)
  }
}
