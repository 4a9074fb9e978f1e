import type { Clock } from '../../app/base/clock.ts'
import { type Identity, InstrumentError, type InstrumentErrorCode } from '../../app/instruments/faces.ts'
import { asTold, type Said, said } from '../../app/messages/said.ts'
import type { BenchInstrument } from '../../app/records/bench.ts'
import { matchIdentity } from '../language/identity.ts'
import { compilePattern, type Matcher } from '../language/pattern.ts'
import type { Conversation } from '../link/conversation.ts'
import { Link } from '../link/link.ts'
import { intruderHint } from '../link/serial-faults.ts'
import type { Connect } from '../link/wire.ts'
import { undress } from './dress.ts'
import type { Limits } from './guard.ts'
import { connectTo, framingOf, paceOf, quietOf } from './reach.ts'
import type { Profile } from './schema.ts'
import { type Done, Speaker } from './speaker.ts'
import { doSteps } from './steps.ts'
import { Telegrams } from './telegrams.ts'

export interface LineOptions {
  readonly spec: BenchInstrument
  readonly clock: Clock
  /** The whole profile, with all its parts. */
  readonly profile: Profile
  readonly random: () => number
  /** Another way to reach the instrument than its link; for tests and scripted peers. */
  readonly connect?: Connect | undefined
  /** Whether what answers takes no time for its work, as a scripted peer. */
  readonly atOnce?: boolean | undefined
}

/** What a line tells each of the instruments upon it. */
export interface Face {
  readonly speaker: Speaker
  /** Serial number that the bench has for it. */
  readonly serial: string | undefined
  /** Forgets what was set, so that it is set again: after a loss, a power cut, a typed line. */
  forget(): void
  /** The settings are gone; the next reading says so. */
  powerLost(): void
  /** The next reading comes after a gap. */
  gap(): void
  /** The answer before this moment may have been to an earlier question. */
  doubted(): void
  /** Limits narrower than the profile's, by parameter. */
  limitsNow(): Limits
}

/**
 * The line to one case: its link, who is there, what it is sent before anything else, and whether it lost its power. One
 * instrument is upon it, or several where a case holds more than one; all of them are told.
 */
export class ProfileLine {
  readonly link: Link
  readonly telegrams: Telegrams | undefined
  readonly speaker: Speaker
  readonly #rules: Profile
  readonly #clock: Clock
  readonly #spec: BenchInstrument
  readonly #faces = new Set<Face>()
  #identityText = ''
  #prepared = false
  /** Set when the link was cleared after a fault. */
  #afterFault = false
  /** Told when the last instrument has left. */
  onEmpty: () => void = () => {}

  constructor(options: LineOptions) {
    const { spec, clock, profile, random, atOnce } = options
    this.#rules = profile
    this.#clock = clock
    this.#spec = spec
    this.speaker = new Speaker(profile, clock, atOnce)
    this.telegrams = profile.stream === undefined ? undefined : new Telegrams(profile, clock)
    const { idleS } = profile.link
    this.link = new Link({
      name: spec.name,
      clock,
      random,
      connect: options.connect ?? connectTo(spec, profile, clock),
      framing: framingOf(spec, profile),
      pace: paceOf(spec, profile),
      quietMs: quietOf(spec, profile),
      identify: (talk) => this.#identify(talk),
      recover: (talk) => this.#recover(talk),
      onDoubt: () => {
        for (const face of this.#faces) face.doubted()
      },
      aside: this.#aside(),
      ...(idleS === undefined ? {} : { idleMs: idleS * 1000 }),
    })
  }

  get profile(): Profile {
    return this.#rules
  }

  /** Puts an instrument upon the line. Where the bench has it with another serial number than what answers, the line begins anew. */
  join(face: Face): void {
    this.#faces.add(face)
    const { identity } = this.link
    const other = identity && this.#otherSerial(identity)
    if (other !== undefined) this.link.reconnect(other)
  }

  /** Why a case with this identity is another than the bench says of any of the instruments in it. */
  #otherSerial({ serial }: Identity): Said | undefined {
    const expected = [this.#spec.serial, ...[...this.#faces].map((face) => face.serial)].find(
      (each) => each !== undefined && each !== serial,
    )
    return expected === undefined ? undefined : said('another-serial-number', { serial, expected })
  }

  /** Takes an instrument off the line; the last one closes it. */
  async leave(face: Face): Promise<void> {
    this.#faces.delete(face)
    if (this.#faces.size > 0) return
    this.onEmpty()
    await this.link.close()
  }

  /** Limits of all that is upon the line: a line typed to one instrument could set another. */
  limitsNow(): Limits {
    return Object.assign({}, ...[...this.#faces].map((face) => face.limitsNow()))
  }

  forget(): void {
    for (const face of this.#faces) face.forget()
  }

  /** What comes before a task: registers cleared after a fault, and everything made ready where it is not. */
  async begin(talk: Conversation): Promise<void> {
    if (this.#afterFault) await this.#clearRegisters(talk)
    if (this.takePoweredUp()) this.losePower()
    if (!this.#prepared) await this.prepare(talk)
  }

  /** Sends the profile's prepare list. Throws when the instrument does not take it. */
  async prepare(talk: Conversation): Promise<void> {
    const perform = (name: string) => this.speaker.perform(talk, name)
    const done = await doSteps(this.#rules.prepare, { clock: this.#clock, perform })
    if (done?.ok === false) throw this.errorOf(done)
    // Registers that tell of the power-up are read empty, so that they tell of the next one only.
    if (this.#rules.watch !== undefined) await this.speaker.tell(talk)
    this.takePoweredUp()
    this.#prepared = true
  }

  /** Whether any of the speakers upon the line saw a power-up since last asked. */
  takePoweredUp(): boolean {
    const speakers = new Set([this.speaker, ...[...this.#faces].map((face) => face.speaker)])
    return [...speakers].map((speaker) => speaker.takePoweredUp()).includes(true)
  }

  losePower(): true {
    this.#prepared = false
    for (const face of this.#faces) {
      face.powerLost()
      face.forget()
    }
    this.#note('the instrument was switched off and on')
    return true
  }

  error(code: InstrumentErrorCode, why: Said): InstrumentError {
    return new InstrumentError(code, this.#spec.name, why)
  }

  errorOf(done: Extract<Done, { ok: false }>): InstrumentError {
    return this.error(done.why, asTold(done.words))
  }

  /** Claims what may come at any time: lines that mean nothing, and telegrams of what answers questions as well. */
  #aside(): ((text: string, at: Parameters<Telegrams['hear']>[1]) => boolean) | undefined {
    const ignored: readonly Matcher[] = this.#rules.framing.ignore.map((source) => compilePattern(source))
    const telegrams = this.#rules.identity.ask === undefined ? undefined : this.telegrams
    if (ignored.length === 0 && telegrams === undefined) return undefined
    return (text, at) =>
      ignored.some((pattern) => pattern.test(text)) || telegrams?.hearIfOne(text, at) === true
  }

  /** Errors that a fault of the link left behind belong to no reading that comes after it. */
  async #clearRegisters(talk: Conversation): Promise<void> {
    this.#afterFault = false
    const told = await this.speaker.tell(talk)
    if (told.words !== '') this.#note(told.words)
  }

  async #identify(talk: Conversation): Promise<Identity> {
    const known = this.link.identity !== undefined
    this.#prepared = false
    this.forget()
    this.telegrams?.restart()
    const onlyTalks = this.#rules.identity.ask === undefined
    if (!onlyTalks) talk.hearUnasked((text) => this.speaker.hearGreeting(text))
    this.#identityText = onlyTalks ? await this.#listen(talk) : await this.#askIdentity(talk)
    const identity = matchIdentity(this.#identityText, compilePattern(this.#rules.identity.pattern))!
    const other = this.#otherSerial(identity)
    if (other !== undefined) throw this.error('wrong-instrument', other)
    this.#noteFirmware(identity)
    if (known) {
      for (const face of this.#faces) face.gap()
      if (this.#rules.watch !== undefined) await this.speaker.tell(talk)
      if (this.takePoweredUp()) this.losePower()
    }
    await this.prepare(talk)
    if (talk.dirty) throw this.error('garbled', said('in-doubt-after-opening', {}))
    return identity
  }

  /** Hears telegrams from now on; the first one is the identity. */
  async #listen(talk: Conversation): Promise<string> {
    const telegrams = this.telegrams!
    const { longestSilenceS } = this.#rules.stream!
    talk.hearUnasked((raw, at) => {
      telegrams.hear(raw, at)
      return true
    })
    const endUs = this.#clock.now().monoUs + longestSilenceS * 1e6
    const identity = compilePattern(this.#rules.identity.pattern, { dotAll: true })
    for (;;) {
      const leftMs = (endUs - this.#clock.now().monoUs) / 1000
      const telegram = leftMs > 0 ? await telegrams.next(leftMs) : undefined
      if (talk.closed) throw this.error('lost', said('lost-before-telegram', {}))
      if (telegram === undefined) {
        throw this.error('silent', said('no-telegram-heard', { longestSilenceS }))
      }
      if (telegram.text === undefined) continue
      if (identity.test(telegram.text)) return telegram.text
      throw this.error(
        'wrong-instrument',
        said('telegram-of-another-profile', { telegram: telegram.text, rules: this.#rules.id }),
      )
    }
  }

  async #askIdentity(talk: Conversation): Promise<string> {
    const pattern = compilePattern(this.#rules.identity.pattern)
    let other = ''
    let noise = ''
    const { lateMs, quietMs } = this.#rules.timing
    // A second try: half a line left in the instrument's input spoils the first question.
    for (let attempt = 0; attempt < 2; attempt++) {
      const outcome = await this.speaker.identify(talk, (text) => {
        if (pattern.test(text)) return true
        other = text
        return false
      })
      if (outcome.kind === 'lost')
        throw this.error('lost', outcome.words === undefined ? said('link-lost', {}) : asTold(outcome.words))
      const waitMs = attempt === 0 && outcome.kind === 'reply' ? quietMs : Math.max(lateMs, quietMs)
      await talk.drain(waitMs, lateMs + 20 * quietMs)
      if (outcome.kind === 'reply') {
        talk.trust()
        const shell = undress(outcome.text, this.#rules)
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
        said('answers-to-another-profile', { other, rules: this.#rules.id }),
      )
    }
    if (/[\x80-\xff]/.test(noise)) {
      return this.error('garbled', said('not-text', {}))
    }
    const hint = link.kind === 'serial' ? (intruderHint(link.path) ?? '') : ''
    return this.error('silent', said('nobody-answers', { hint }))
  }

  async #recover(talk: Conversation): Promise<boolean> {
    if (this.#rules.identity.ask === undefined) return true
    const outcome = await this.speaker.identify(talk, (text) => text === this.#identityText)
    this.#afterFault = outcome.kind === 'reply'
    return this.#afterFault
  }

  #noteFirmware(identity: Identity): void {
    const known = this.#rules.identity.firmware
    if (known === undefined || compilePattern(known).test(identity.firmware)) return
    this.#note(`firmware ${identity.firmware} is not among those this profile was tried with`)
  }

  #note(words: string): void {
    this.link.traffic.tell('note', words, this.#clock.now())
  }
}
