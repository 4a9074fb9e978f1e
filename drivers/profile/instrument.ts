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
import type { BenchInstrument } from '../../app/records/bench.ts'
import type { Mark } from '../../app/records/mark.ts'
import type { RawUnit } from '../../app/records/reading.ts'
import { matchIdentity } from '../language/identity.ts'
import { compilePattern } from '../language/pattern.ts'
import type { Conversation } from '../link/conversation.ts'
import { Link } from '../link/link.ts'
import { intruderHint } from '../link/serial-faults.ts'
import type { Connect } from '../link/wire.ts'
import { undress } from './dress.ts'
import { Guard, type Limits } from './guard.ts'
import { connectTo, framingOf, paceOf, quietOf } from './reach.ts'
import type { Profile } from './schema.ts'
import { type Done, Speaker, type Told } from './speaker.ts'
import { printParameter, TemplateError, type Values } from './template.ts'

export interface InstrumentOptions {
  readonly spec: BenchInstrument
  readonly clock: Clock
  readonly profile: Profile
  readonly random: () => number
  /** Another way to reach the instrument than its link; for tests and scripted peers. */
  readonly connect?: Connect | undefined
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
export class ProfileInstrument<Role extends InstrumentRole> {
  readonly id: string
  readonly profile: string
  readonly role: Role
  protected readonly rules: Profile
  protected readonly clock: Clock
  protected readonly speaker: Speaker
  protected readonly link: Link
  protected readonly doubts = new Set<() => void>()
  readonly #spec: BenchInstrument
  readonly #guard: Guard
  #identityText = ''
  #prepared = false
  /** Set when the instrument lost its settings: told on the next reading. */
  #powerCycled = false
  #gapBefore = false
  /** Set when the link was cleared after a fault. */
  #afterFault = false
  protected firstTelegram: ((talk: Conversation) => Promise<string>) | undefined

  constructor(role: Role, options: InstrumentOptions) {
    const { spec, clock, profile, random } = options
    this.id = spec.id
    this.profile = profile.id
    this.role = role
    this.rules = profile
    this.clock = clock
    this.#spec = spec
    this.#guard = new Guard(profile)
    this.speaker = new Speaker(profile, clock, options.atOnce)
    const { link } = profile
    this.link = new Link({
      name: spec.name,
      clock,
      random,
      connect: options.connect ?? connectTo(spec, profile, clock),
      framing: framingOf(profile),
      pace: paceOf(spec, profile),
      quietMs: quietOf(spec, profile),
      identify: (talk) => this.#identify(talk),
      recover: (talk) => this.#recover(talk),
      onDoubt: () => {
        for (const listener of this.doubts) listener()
      },
      ...(link.idleS === undefined ? {} : { idleMs: link.idleS * 1000 }),
    })
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
    return this.link.close()
  }

  onDidChangeStatus(listener: (status: LinkStatus) => void): Disposable {
    return this.link.onDidChangeStatus(listener)
  }

  onTraffic(listener: (line: TrafficLine) => void): Disposable {
    return this.link.traffic.listen(listener)
  }

  async converse(line: string, signal?: StopSignal): Promise<string | undefined> {
    const verdict = this.#guard.judge(line, this.limitsNow())
    if (!verdict.allowed) throw this.error('refused', `Not sent: ${verdict.sentence}.`)
    const talks = this.rules.identity.ask !== undefined
    if (!talks) throw this.error('refused', 'Not sent: this instrument only talks, it does not listen.')
    const replies = this.rules.framing.prompt === undefined ? verdict.replies : 0
    return this.task(signal, async (talk) => {
      if (verdict.changes) this.forget()
      const outcome = await talk.exchange(this.speaker.request(line, replies))
      if (outcome.kind !== 'reply') throw this.error(outcome.kind, outcome.words ?? outcome.kind)
      // An error belongs to the line that was typed, not to the next reading.
      const told = await this.watch(talk, 'set')
      if (told.marks.includes('instrument-error')) throw this.error('instrument-said', told.words)
      return outcome.text === '' ? undefined : outcome.text
    })
  }

  /** Limits narrower than the profile's, by parameter. */
  protected limitsNow(): Limits {
    return {}
  }

  /** Forgets what was set, so that it is set again: after a loss, a power cut, a typed line. */
  protected forget(): void {}

  /** Does a capability: its commands in order. The result is the last one that brought a value, or the first fault. */
  protected async capability(talk: Conversation, name: string, values: Values): Promise<Done> {
    let result: Done | undefined
    for (const command of this.rules.capabilities[name] ?? []) {
      const done = await this.speaker.perform(talk, command, values)
      if (!done.ok) return done
      if (result === undefined || done.read.kind === 'value') result = done
    }
    if (result === undefined) throw this.error('refused', `this instrument cannot do "${name}"`)
    return result
  }

  /** Asks the watched register after a setting or a reading, where the profile says so. */
  protected async watch(talk: Conversation, after: 'set' | 'read'): Promise<Told> {
    const { watch } = this.rules
    if (watch === undefined || !watch.after.includes(after)) {
      return { poweredUp: this.speaker.takePoweredUp() && this.#losePower(), marks: [], words: '' }
    }
    const told = await this.speaker.tell(talk)
    return this.speaker.takePoweredUp() ? { ...told, poweredUp: this.#losePower() } : told
  }

  /** Runs a task alone on the line, prepared; the caller's signal ends the waiting, never half of an exchange. */
  protected task<T>(signal: StopSignal | undefined, work: (talk: Conversation) => Promise<T>): Promise<T> {
    if (signal?.aborted === true) return Promise.reject(signal.reason)
    const running = this.link.run(async (talk) => {
      if (signal?.aborted === true) throw signal.reason
      if (this.#afterFault) await this.#clearRegisters(talk)
      if (this.speaker.takePoweredUp()) this.#losePower()
      if (!this.#prepared) await this.prepare(talk)
      return work(talk)
    })
    return signal === undefined ? running : untilAborted(running, signal)
  }

  /** Sends the profile's prepare list. Throws when the instrument does not take it. */
  protected async prepare(talk: Conversation): Promise<void> {
    for (const name of this.rules.prepare) {
      const done = await this.speaker.perform(talk, name)
      if (!done.ok) throw this.errorOf(done)
    }
    // Registers that tell of the power-up are read empty, so that they tell of the next one only.
    if (this.rules.watch !== undefined) await this.speaker.tell(talk)
    this.speaker.takePoweredUp()
    this.#prepared = true
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
    return { raw: done.raw, value, unit, marks, at: done.at, ...(note === '' ? {} : { note }) }
  }

  /** A reading that could not be taken because there is no link. Waits as a missed answer would. */
  protected async missed(error: InstrumentError, unit: RawUnit): Promise<Measured> {
    await this.link.pace(this.rules.timing.firstByteMs)
    this.#gapBefore = true
    return { raw: '', value: undefined, unit, marks: ['silent'], at: this.clock.now(), note: error.message }
  }

  /** Refuses a value outside the limits of the commands that would carry it. */
  protected refuseOutside(capability: string, parameter: string, value: number): void {
    const names = this.rules.capabilities[capability]
    if (names === undefined) throw this.error('refused', `this instrument cannot do "${capability}"`)
    for (const name of names) {
      const rule = this.rules.commands[name]?.parameters[parameter]
      if (rule === undefined) continue
      try {
        printParameter(parameter, value, rule)
      } catch (error) {
        if (error instanceof TemplateError) throw this.error('refused', `Not sent: ${error.message}.`)
        throw error
      }
    }
  }

  protected refuseInput(input: number): void {
    const count = this.rules.inputs?.count ?? 1
    if (!Number.isInteger(input) || input < 1 || input > count) {
      throw this.error(
        'refused',
        `Not sent: input ${input} does not exist, this instrument has 1 to ${count}.`,
      )
    }
  }

  protected error(code: InstrumentErrorCode, sentence: string): InstrumentError {
    return new InstrumentError(code, this.#spec.name, sentence)
  }

  protected errorOf(done: Extract<Done, { ok: false }>): InstrumentError {
    return this.error(done.why, done.words)
  }

  /** Errors that a fault of the link left behind belong to no reading that comes after it. */
  async #clearRegisters(talk: Conversation): Promise<void> {
    this.#afterFault = false
    const told = await this.speaker.tell(talk)
    if (told.words !== '') this.link.traffic.tell('note', told.words, this.clock.now())
  }

  #losePower(): true {
    this.#powerCycled = true
    this.#prepared = false
    this.forget()
    this.link.traffic.tell('note', 'the instrument was switched off and on', this.clock.now())
    return true
  }

  async #identify(talk: Conversation): Promise<Identity> {
    const known = this.link.identity !== undefined
    this.#prepared = false
    this.forget()
    if (this.rules.stream === undefined) talk.hearUnasked((text) => this.speaker.hearGreeting(text))
    this.#identityText = await this.#askIdentity(talk)
    const identity = matchIdentity(this.#identityText, compilePattern(this.rules.identity.pattern))!
    const expected = this.#spec.serial
    if (expected !== undefined && identity.serial !== expected) {
      throw this.error(
        'wrong-instrument',
        `the instrument here has serial number ${identity.serial}, the bench says ${expected}. Connect the right one or correct the bench.`,
      )
    }
    this.#noteFirmware(identity)
    if (known) {
      this.#gapBefore = true
      if (this.rules.watch !== undefined) await this.speaker.tell(talk)
      if (this.speaker.takePoweredUp()) this.#losePower()
    }
    await this.prepare(talk)
    if (talk.dirty) throw this.error('garbled', 'the link was in doubt right after it was opened')
    return identity
  }

  async #askIdentity(talk: Conversation): Promise<string> {
    if (this.firstTelegram !== undefined) return this.firstTelegram(talk)
    const pattern = compilePattern(this.rules.identity.pattern)
    let other = ''
    let noise = ''
    const { lateMs, quietMs } = this.rules.timing
    // A second try: half a line left in the instrument's input spoils the first question.
    for (let attempt = 0; attempt < 2; attempt++) {
      const outcome = await this.speaker.identify(talk, (text) => {
        if (pattern.test(text)) return true
        other = text
        return false
      })
      if (outcome.kind === 'lost') throw this.error('lost', outcome.words ?? 'link lost')
      const waitMs = attempt === 0 && outcome.kind === 'reply' ? quietMs : Math.max(lateMs, quietMs)
      await talk.drain(waitMs, lateMs + 20 * quietMs)
      if (outcome.kind === 'reply') {
        talk.trust()
        const shell = undress(outcome.text, this.rules)
        return 'text' in shell ? shell.text : outcome.text
      }
      noise += outcome.text
    }
    throw this.#nobodyKnown(other, noise)
  }

  /** Why no identity came, as far as can be told from what did come. */
  #nobodyKnown(other: string, noise: string): InstrumentError {
    const { link } = this.#spec
    if (other !== '') {
      return this.error(
        'wrong-instrument',
        `"${other}" answers here, which is not what the profile ${this.rules.id} is for.`,
      )
    }
    if (/[\x80-\xff]/.test(noise)) {
      return this.error(
        'garbled',
        'what comes is not text: this looks like a wrong baud rate or parity. Compare them with the instrument.',
      )
    }
    const hint = link.kind === 'serial' ? intruderHint(link.path) : ''
    return this.error(
      'silent',
      `connected, but nobody answers: check terminator, baud rate and that the instrument is on.${hint}`,
    )
  }

  async #recover(talk: Conversation): Promise<boolean> {
    if (this.rules.identity.ask === undefined) return true
    const outcome = await this.speaker.identify(talk, (text) => text === this.#identityText)
    this.#afterFault = outcome.kind === 'reply'
    return this.#afterFault
  }

  #noteFirmware(identity: Identity): void {
    const known = this.rules.identity.firmware
    if (known === undefined || compilePattern(known).test(identity.firmware)) return
    this.link.traffic.tell(
      'note',
      `firmware ${identity.firmware} is not among those this profile was tried with`,
      this.clock.now(),
    )
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
