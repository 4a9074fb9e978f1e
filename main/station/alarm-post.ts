import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { z } from 'zod'
import { type Clock, type Disposable, isoUtc } from '../../app/base/clock.ts'
import { at } from '../../app/base/lists.ts'
import type { AlarmRules } from '../../app/contract/settings.ts'
import { AlarmView } from '../../app/contract/views.ts'
import { writeThenRename } from '../store/export/file.ts'
import type { AlarmChange, AlarmDesk } from './alarm-desk.ts'
import type { StationLog } from './log.ts'
import { mailTransport } from './mail.ts'

const WAYS = ['email', 'webhook'] as const

/** One message on its way. It stays in the outbox, over restarts, until it is gone or given up. */
const Message = z.strictObject({
  id: z.string(),
  way: z.enum(WAYS),
  utcUs: z.int(),
  subject: z.string(),
  text: z.string(),
  alarms: z.array(AlarmView),
  attempts: z.int(),
  notBeforeUtcUs: z.int(),
})
type Message = z.output<typeof Message>

export interface AlarmPostParts {
  readonly folder: string
  readonly clock: Clock
  readonly desk: AlarmDesk
  readonly log: StationLog
  readonly rules: () => AlarmRules
  /** Where the message comes from, for its reader: bench and session. */
  readonly from: () => string
  /** Never stored with the rules, never logged. */
  readonly smtpPassword?: string | undefined
  /** Shown to the webhook as a bearer token (RFC 6750, 2.1); never stored or logged either. */
  readonly webhookToken?: string | undefined
}

/** Pauses between attempts, s; the last repeats until a day has passed. */
const PAUSES_S = [10, 30, 60, 300, 900]
const GIVE_UP_S = 86_400
const TIMEOUT_MS = 15_000
const MOST_IN_OUTBOX = 200

/**
 * Tells people who are not there: e-mail and webhook. Alarms near one another go out as one message; what cannot be
 * delivered waits in an outbox and is tried again.
 */
export class AlarmPost implements Disposable {
  readonly #p: AlarmPostParts
  readonly #path: string
  readonly #subscription: Disposable
  #waiting: AlarmView[] = []
  #groupTimer: Disposable | undefined
  #retryTimer: Disposable | undefined
  #outbox: Message[]
  #sending: Promise<void> | undefined
  #count = 0

  constructor(parts: AlarmPostParts) {
    this.#p = parts
    this.#path = join(parts.folder, 'outbox.json')
    this.#outbox = readOutbox(this.#path)
    this.#subscription = parts.desk.onDidChange.on((change) => this.#take(change))
    if (this.#outbox.length > 0) this.#sendSoon(0)
  }

  /** Messages not yet delivered. */
  get outbox(): readonly Message[] {
    return this.#outbox
  }

  dispose(): void {
    this.#subscription.dispose()
    this.#groupTimer?.dispose()
    this.#retryTimer?.dispose()
    if (this.#waiting.length > 0) this.#pack()
  }

  /** Sends what has gathered without waiting for its group; resolves when all of it has been tried. */
  async now(): Promise<void> {
    this.#groupTimer?.dispose()
    this.#groupTimer = undefined
    if (this.#waiting.length > 0) this.#pack()
    this.#sending = (this.#sending ?? Promise.resolve()).then(() => this.#sendAll())
    await this.#sending
  }

  /** Resolves when nothing is being sent. */
  async idle(): Promise<void> {
    await this.#sending
  }

  #take({ what, alarm, cause }: AlarmChange): void {
    if (what !== 'raised' || cause.quiet) return
    const rules = this.#p.rules()
    if (!rules.email && !rules.webhook) return
    const muted = rules.rules.some((r) => r.kind === cause.kind && !r.enabled && r.subject === undefined)
    if (muted) return
    this.#waiting.push(alarm)
    this.#groupTimer ??= this.#p.clock.after(rules.groupS * 1000, () => {
      this.#groupTimer = undefined
      this.#pack()
      this.#sendSoon(0)
    })
  }

  /** Makes one message for each way of all that has gathered. */
  #pack(): void {
    const alarms = this.#waiting
    this.#waiting = []
    const rules = this.#p.rules()
    const { utcUs } = this.#p.clock.now()
    const worst = ['alarm', 'warning', 'notice'].find((s) => alarms.some((a) => a.severity === s))
    const first = alarms.find((a) => a.severity === worst)!
    const more = alarms.length > 1 ? ` (and ${alarms.length - 1} more)` : ''
    const base = {
      utcUs,
      // In one line, and not cut within a character.
      subject: [...`Stillpoint ${worst}: ${first.words}${more}`.replaceAll(/\s+/g, ' ')]
        .slice(0, 180)
        .join(''),
      text: [
        this.#p.from(),
        '',
        ...alarms.map((a) => `${isoUtc(a.utcUs).slice(0, 19)}Z  ${a.severity}  ${a.words}`),
      ].join('\n'),
      alarms,
      attempts: 0,
      notBeforeUtcUs: utcUs,
    }
    for (const way of WAYS) {
      if (rules[way] === null) continue
      this.#count += 1
      this.#outbox.push({ ...base, id: `${utcUs}-${this.#count}`, way })
    }
    this.#outbox = this.#outbox.slice(-MOST_IN_OUTBOX)
    this.#keep()
  }

  #keep(): void {
    try {
      writeThenRename(this.#path, (out) => out.write(JSON.stringify(this.#outbox)), 0o600)
    } catch (fault) {
      // It is still tried from memory; only a restart would lose it.
      this.#p.log.error({ fault }, 'the outbox cannot be written')
    }
  }

  #sendSoon(ms: number): void {
    this.#retryTimer?.dispose()
    this.#retryTimer = this.#p.clock.after(ms, () => {
      this.#sending = (this.#sending ?? Promise.resolve()).then(() => this.#sendAll())
    })
  }

  async #sendAll(): Promise<void> {
    const now = this.#p.clock.now().utcUs
    for (const message of [...this.#outbox]) {
      if (message.notBeforeUtcUs > now) continue
      try {
        await this.#send(message)
        this.#outbox = this.#outbox.filter((m) => m.id !== message.id)
        this.#p.log.info({ way: message.way, subject: message.subject }, 'alarm message delivered')
      } catch (fault) {
        this.#postpone(message, fault)
      }
    }
    this.#keep()
    const next = Math.min(...this.#outbox.map((m) => m.notBeforeUtcUs))
    if (Number.isFinite(next)) this.#sendSoon(Math.max(1000, (next - this.#p.clock.now().utcUs) / 1000))
  }

  #postpone(message: Message, fault: unknown): void {
    const now = this.#p.clock.now().utcUs
    const words = fault instanceof Error ? fault.message : String(fault)
    this.#p.log.warn(
      { way: message.way, words, attempts: message.attempts + 1 },
      'alarm message not delivered',
    )
    if (now - message.utcUs > GIVE_UP_S * 1e6) {
      this.#outbox = this.#outbox.filter((m) => m.id !== message.id)
      this.#p.log.error({ way: message.way, subject: message.subject }, 'alarm message given up after a day')
      return
    }
    const pauseS = at(PAUSES_S, Math.min(message.attempts, PAUSES_S.length - 1))
    this.#outbox = this.#outbox.map((m) =>
      m.id === message.id ? { ...m, attempts: m.attempts + 1, notBeforeUtcUs: now + pauseS * 1e6 } : m,
    )
  }

  async #send(message: Message): Promise<void> {
    const rules = this.#p.rules()
    if (message.way === 'email') {
      if (!rules.email) return
      const { from, to } = rules.email
      const transport = await mailTransport(rules.email, this.#p.smtpPassword)
      try {
        await transport.sendMail({ from, to, subject: message.subject, text: message.text })
      } finally {
        transport.close()
      }
      return
    }
    if (!rules.webhook) return
    const { webhookToken } = this.#p
    const response = await fetch(rules.webhook.url, {
      method: 'POST',
      headers: {
        'content-type': 'application/json',
        ...(webhookToken !== undefined && { authorization: `Bearer ${webhookToken}` }),
      },
      body: JSON.stringify({
        from: this.#p.from(),
        utc: isoUtc(message.utcUs),
        subject: message.subject,
        alarms: message.alarms,
      }),
      redirect: 'error',
      signal: AbortSignal.timeout(TIMEOUT_MS),
    })
    await response.body?.cancel()
    if (!response.ok) throw new Error(`the webhook answered ${response.status}`)
  }
}

function readOutbox(path: string): Message[] {
  try {
    return z.array(Message).parse(JSON.parse(readFileSync(path, 'utf8')))
  } catch {
    // None yet, or cut short by a power failure: what was in it cannot be known.
    return []
  }
}
