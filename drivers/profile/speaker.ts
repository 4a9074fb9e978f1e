import type { Clock, Instant } from '../../app/base/clock.ts'
import { at, entryOf } from '../../app/base/lists.ts'
import type { Mark } from '../../app/records/mark.ts'
import { readErrorQueue, saysPowerOn, tellErrors } from '../language/error-queue.ts'
import { shortForm } from '../language/headers.ts'
import { compilePattern, type Matcher } from '../language/pattern.ts'
import type { Conversation } from '../link/conversation.ts'
import type { Outcome, Request } from '../link/exchange.ts'
import { dress, echoOf, undress } from './dress.ts'
import { Haste } from './haste.ts'
import { compileAnswer, type Read } from './reply.ts'
import type { Command, Profile } from './schema.ts'
import { commandsIn } from './schema-steps.ts'
import { compileTemplate, type Values } from './template.ts'

/** What came of one command. */
export type Done =
  | { readonly ok: true; readonly read: Read; readonly raw: string; readonly at: Instant }
  | {
      readonly ok: false
      readonly why: 'silent' | 'late' | 'garbled' | 'lost' | 'instrument-said' | 'not-confirmed'
      readonly raw: string
      readonly at: Instant
      readonly words: string
      /** What a late answer says, where it could be read. */
      readonly read?: Read
    }

/** What the watched register and the errors behind it told. */
export interface Told {
  readonly poweredUp: boolean
  readonly marks: readonly Mark[]
  readonly words: string
  /** Set when the watch itself failed. */
  readonly fault?: Extract<Done, { ok: false }>
}

interface Spoken {
  readonly command: Command
  readonly fill: (values: Values) => string
  readonly read: (text: string) => Read
  readonly fixed: Request | undefined
  /** Whether it is one question and one answer: no parameters, polls, pauses or remedies. */
  readonly plain: boolean
  /** Whether it reads the register that is watched. */
  readonly watched: boolean
  readonly confirmEquals: ((values: Values) => string) | undefined
}

const NO_VALUES: Values = {}
const BELIEVED =
  'answers always come sooner than the profile says the instrument works (takesMs): they are believed from now on'

/** Speaks a profile's language over a conversation: one command at a time, retries, polls, confirmations, errors. */
export class Speaker {
  readonly #profile: Profile
  readonly #clock: Clock
  readonly #commands = new Map<string, Spoken>()
  readonly #errorPattern: Matcher | undefined
  readonly #powerUpMessage: Matcher | undefined
  readonly #haste: Haste
  #poweredUp = false
  #bits = 0

  constructor(profile: Profile, clock: Clock, atOnce = false) {
    this.#haste = new Haste(atOnce)
    this.#profile = profile
    this.#clock = clock
    this.#errorPattern = profile.errors.kind === 'reply' ? compilePattern(profile.errors.pattern) : undefined
    this.#powerUpMessage =
      profile.powerUpMessage === undefined ? undefined : compilePattern(profile.powerUpMessage)
    for (const [name, command] of Object.entries(profile.commands))
      this.#commands.set(name, this.#compile(command))
  }

  /** Whether a power-up was seen since last asked; asking forgets it. */
  takePoweredUp(): boolean {
    const seen = this.#poweredUp
    this.#poweredUp = false
    return seen
  }

  /** Claims a line that came unasked when it is the instrument's greeting after power-up. */
  hearGreeting(text: string): boolean {
    if (this.#powerUpMessage?.test(text) !== true) return false
    this.#poweredUp = true
    return true
  }

  /** Does one command with all that belongs to it. */
  perform(talk: Conversation, name: string, values: Values = NO_VALUES): Promise<Done> {
    const spoken = entryOf(this.#commands, name)
    if (!spoken.plain) return this.#perform(talk, spoken, values)
    return new Promise((resolve, reject) => {
      const began = talk.exchangeNow(spoken.fixed!, (outcome) => resolve(this.#decode(talk, spoken, outcome)))
      if (!began) this.#perform(talk, spoken, values).then(resolve, reject)
    })
  }

  async #perform(talk: Conversation, spoken: Spoken, values: Values): Promise<Done> {
    const { command } = spoken
    const startUs = this.#clock.now().monoUs
    if (command.poll?.onRequest === true) await talk.requestOr(command.poll.everyMs)
    let done = await this.#once(talk, spoken, values)
    if (!done.ok && done.why === 'instrument-said' && this.#remedy(done.raw) === 'retry') {
      done = await this.#once(talk, spoken, values)
    }
    if (done.ok && command.poll !== undefined) done = await this.#poll(talk, spoken, values, done, startUs)
    if (done.ok && command.confirm !== undefined) return this.#confirm(talk, spoken, values, done)
    return done
  }

  /** Asks the watched register, and reads the errors it announces. */
  async tell(talk: Conversation): Promise<Told> {
    const { watch } = this.#profile
    if (watch === undefined) return this.#told('', [])
    const done = await this.perform(talk, watch.ask)
    if (!done.ok) return { ...this.#told(done.words, []), fault: done }
    const bits = this.#bits
    this.#bits = 0
    const set = watch.marks.filter((each) => (bits & each.bits) !== 0)
    const words = set.map((each) => each.words)
    const marks: Mark[] = set.map((each) => each.mark)
    if ((bits & watch.error) !== 0) {
      const errors = await this.#readErrors(talk)
      if (errors !== '') words.push(errors)
      marks.push('instrument-error')
    }
    return this.#told(words.join('; '), marks)
  }

  /** Asks who is there; passes over whatever is not an answer that `accept` knows. */
  identify(talk: Conversation, accept: (text: string) => boolean): Promise<Outcome> {
    const { fill, command } = entryOf(this.#commands, this.#profile.identity.ask!)
    return talk.exchange({
      ...this.request(fill(NO_VALUES), 1, command),
      echo: undefined,
      accept: (reply) => {
        if (this.hearGreeting(reply)) return false
        const shell = undress(reply, this.#profile)
        return 'text' in shell && accept(shell.text)
      },
    })
  }

  /** Whether a command is asked while the instrument measures and at no other time: then it cannot answer at once. */
  #isWork(command: Command): boolean {
    const { capabilities, commands } = this.#profile
    const within = Object.entries(capabilities).filter(([, names]) =>
      commandsIn(names).some((name) => commands[name] === command),
    )
    return within.length === 1 && at(within, 0)[0] === 'measure'
  }

  /** A request for one line of this language. */
  request(line: string, replies: number, command?: Command, readings = 1): Request {
    const { timing, framing } = this.#profile
    const bytes = dress(line, this.#profile)
    const takesMs = command?.poll === undefined ? (command?.takesMs ?? 0) * readings : 0
    const firstByteMs = (command?.deadlineMs ?? timing.firstByteMs) + takesMs
    return {
      ...(takesMs > 0 && this.#isWork(command!) && { soonestMs: takesMs * this.#haste.soonest }),
      bytes,
      ...(command?.trigger === true && { trigger: true }),
      echo: echoOf(bytes, this.#profile),
      echoMayFail: framing.echo === 'sometimes',
      replies,
      prompt: framing.prompt,
      firstByteMs,
      replyMs: firstByteMs + timing.replyMs,
    }
  }

  #compile(command: Command): Spoken {
    const line = this.#profile.language === 'scpi' ? shortForm(command.send) : command.send
    const fill = compileTemplate(line, command, this.#profile.inputs)
    const replies = command.answer.kind === 'none' ? 0 : 1
    const fixed =
      line.includes('{') || command.takesMs !== undefined ? undefined : this.request(line, replies, command)
    const { watch, commands, inputs, framing, errors } = this.#profile
    const watched = watch !== undefined && commands[watch.ask]?.send === command.send
    const equals = command.confirm?.equals
    const confirmEquals = equals === undefined ? undefined : compileTemplate(equals, command, inputs)
    const more = command.poll ?? command.confirm ?? command.pauseMs ?? framing.handshake ?? framing.thank
    const remedies = errors.kind === 'reply' || command.answersPrevious
    const plain = fixed !== undefined && replies === 1 && more === undefined && !remedies
    return { command, fill, read: compileAnswer(command.answer), fixed, plain, watched, confirmEquals }
  }

  async #once(talk: Conversation, spoken: Spoken, values: Values): Promise<Done> {
    const { command, fixed } = spoken
    const request = fixed ?? this.#requestFor(spoken, values)
    const { handshake, thank } = this.#profile.framing
    if (handshake !== undefined) {
      const ready = await this.#shakeHands(talk, handshake)
      if (!ready.ok) return ready
    }
    if (command.answersPrevious) {
      const previous = await talk.exchange(request)
      if (previous.kind !== 'reply') return this.#decode(talk, spoken, previous)
    }
    const outcome = await talk.exchange(request)
    if (thank !== undefined && outcome.kind === 'reply' && request.replies > 0) {
      await talk.exchange({ bytes: thank, replies: 0, firstByteMs: 0, replyMs: 0 })
    }
    const pauseMs =
      command.pauseMs ?? (command.answer.kind === 'none' ? this.#profile.timing.gapAfterSetMs : 0)
    if (pauseMs > 0) talk.pauseBeforeNext(pauseMs)
    this.#noteHaste(talk, request, outcome)
    return this.#decode(talk, spoken, outcome)
  }

  /** An instrument that always answers sooner than its profile says is believed in the end, and that is noted. */
  #noteHaste(talk: Conversation, { soonestMs }: Request, { kind, tooSoonMs }: Outcome): void {
    if (soonestMs === undefined) return
    if (tooSoonMs === undefined) {
      if (kind === 'reply') this.#haste.onTime()
    } else if (this.#haste.tooSoon(tooSoonMs / soonestMs)) {
      talk.note(BELIEVED)
    }
  }

  #requestFor(spoken: Spoken, values: Values): Request {
    const replies = spoken.command.answer.kind === 'none' ? 0 : 1
    const readings = Number(values.average ?? 1)
    return this.request(spoken.fill(values), replies, spoken.command, readings)
  }

  async #shakeHands(talk: Conversation, handshake: { ask: string; expect: string }): Promise<Done> {
    const { firstByteMs, replyMs } = this.#profile.timing
    const outcome = await talk.exchange({ bytes: handshake.ask, replies: 1, firstByteMs, replyMs })
    if (outcome.kind !== 'reply') return fault(outcome, outcome.kind, outcome.words ?? 'not ready')
    if (outcome.text === handshake.expect)
      return { ok: true, read: { kind: 'acknowledged' }, raw: outcome.text, at: outcome.at }
    return fault(outcome, 'instrument-said', 'the instrument is not ready for a line')
  }

  #decode(talk: Conversation, spoken: Spoken, outcome: Outcome): Done {
    const raw = outcome.text
    if (outcome.kind !== 'reply' && outcome.kind !== 'late') {
      if (raw !== '' && raw.split('\n').some((line) => this.hearGreeting(line))) {
        return fault(outcome, 'instrument-said', 'the instrument was switched off and on')
      }
      return fault(outcome, outcome.kind, outcome.words ?? outcome.kind)
    }
    if (raw !== '' && this.hearGreeting(raw)) {
      return fault(outcome, 'instrument-said', 'the instrument was switched off and on')
    }
    const shell = raw === '' ? { text: '' } : undress(raw, this.#profile)
    if ('wrong' in shell) return garbled(talk, outcome, shell.wrong)
    const read = spoken.read(shell.text)
    if (read.kind === 'unreadable') {
      const said = this.#errorIn(shell.text)
      return said === undefined ? garbled(talk, outcome, read.words) : fault(outcome, 'instrument-said', said)
    }
    if (outcome.kind === 'late') return { ...fault(outcome, 'late', outcome.words ?? 'late'), read }
    if (read.kind === 'bits' && spoken.watched) this.#note(read.bits)
    return { ok: true, read, raw, at: outcome.at }
  }

  /** Registers that clear on reading are remembered until `tell`, also when it was a poll that read them. */
  #note(bits: number): void {
    this.#bits |= bits
    if ((bits & this.#profile.watch!.powerUp) !== 0) this.#poweredUp = true
  }

  #errorIn(text: string): string | undefined {
    const { errors } = this.#profile
    const match = this.#errorPattern?.find(text)
    if (errors.kind !== 'reply' || match === undefined) return undefined
    const code = match.groups.code ?? text
    const meaning = Object.hasOwn(errors.meanings, code) ? errors.meanings[code] : undefined
    return meaning === undefined
      ? `the instrument answered "${text}"`
      : `the instrument answered "${text}": ${meaning.words}`
  }

  #remedy(raw: string): 'mark' | 'retry' | 'reinit' {
    const { errors } = this.#profile
    if (errors.kind !== 'reply') return 'mark'
    const shell = undress(raw, this.#profile)
    const code = 'text' in shell ? this.#errorPattern?.find(shell.text)?.groups.code : undefined
    const remedy =
      code !== undefined && Object.hasOwn(errors.meanings, code) ? errors.meanings[code]!.do : 'mark'
    if (remedy === 'reinit') this.#poweredUp = true
    return remedy
  }

  async #poll(
    talk: Conversation,
    spoken: Spoken,
    values: Values,
    first: Done,
    beforeUs: number,
  ): Promise<Done> {
    const poll = spoken.command.poll!
    const takesMs = (spoken.command.takesMs ?? 0) * Number(values.average ?? 1)
    const startUs = poll.onRequest ? beforeUs : this.#clock.now().monoUs
    const endUs = startUs + (poll.longestMs + takesMs) * 1000
    let done = first
    while (done.ok && !answered(done.read, poll)) {
      if (this.#clock.now().monoUs > endUs) {
        return fault(
          { text: done.raw, at: this.#clock.now() },
          'silent',
          `not ready within ${poll.longestMs} ms`,
        )
      }
      await (poll.onRequest ? talk.requestOr(poll.everyMs) : this.#clock.sleep(poll.everyMs))
      done = await this.#once(talk, spoken, values)
    }
    if (!done.ok || takesMs === 0 || !this.#isWork(spoken.command)) return done
    return this.#refuseTooSoon(talk, done, (this.#clock.now().monoUs - startUs) / 1000, takesMs)
  }

  /** A register that says "done" before the work can be done was read for an earlier question. */
  #refuseTooSoon(talk: Conversation, done: Done, afterMs: number, takesMs: number): Done {
    const soonestMs = takesMs * this.#haste.soonest
    if (afterMs >= soonestMs) {
      this.#haste.onTime()
      return done
    }
    if (this.#haste.tooSoon(afterMs / soonestMs)) talk.note(BELIEVED)
    const words = 'it said it was done sooner than it can work: the answer belongs to an earlier question'
    talk.spoilBefore(words)
    return fault({ text: done.raw, at: done.at }, 'garbled', words)
  }

  async #confirm(talk: Conversation, spoken: Spoken, values: Values, set: Done): Promise<Done> {
    const confirm = spoken.command.confirm!
    const back = await this.perform(talk, confirm.ask, values)
    if (!back.ok) return back
    const { read } = back
    if (confirm.parameter !== undefined && read.kind === 'value') {
      const wanted = Number(values[confirm.parameter])
      const differs =
        read.value === undefined || !(Math.abs(Number(read.value) - wanted) <= (confirm.within ?? 0))
      if (differs)
        return fault(
          { text: back.raw, at: back.at },
          'not-confirmed',
          `set to ${wanted}, read back ${read.value}`,
        )
      return set
    }
    const text = read.kind === 'text' ? read.text : read.kind === 'value' ? read.value : undefined
    if (text === spoken.confirmEquals?.(values)) return set
    return fault({ text: back.raw, at: back.at }, 'not-confirmed', `read back "${back.raw}"`)
  }

  async #readErrors(talk: Conversation): Promise<string> {
    const { errors } = this.#profile
    if (errors.kind === 'queue') {
      const found = await readErrorQueue(async () => {
        const done = await this.perform(talk, errors.ask)
        return done.ok && done.read.kind === 'text' ? done.read.text : undefined
      })
      if (found.some(saysPowerOn)) this.#poweredUp = true
      return tellErrors(found)
    }
    if (errors.kind !== 'reply' || errors.ask === undefined) return ''
    const done = await this.perform(talk, errors.ask)
    return done.ok
      ? (this.#errorIn(done.read.kind === 'text' ? done.read.text : done.raw) ?? done.raw)
      : done.words
  }

  #told(words: string, marks: readonly Mark[]): Told {
    return { poweredUp: this.#poweredUp, marks, words }
  }
}

function answered(read: Read, poll: NonNullable<Command['poll']>): boolean {
  if (read.kind === 'bits') return (read.bits & poll.set) === poll.set && (read.bits & poll.clear) === 0
  const text = read.kind === 'text' ? read.text : read.kind === 'value' ? read.value : undefined
  return text === poll.equals
}

/** A reply that cannot be read may be the answer to something else: the link is cleared before anything more is asked. */
function garbled(talk: Conversation, outcome: Outcome, words: string): Extract<Done, { ok: false }> {
  talk.spoil(words)
  return fault(outcome, 'garbled', words)
}

function fault(
  from: { readonly text: string; readonly at: Instant },
  why: Extract<Done, { ok: false }>['why'],
  words: string,
): Extract<Done, { ok: false }> {
  return { ok: false, why, raw: from.text, at: from.at, words }
}
