import type { Clock, Disposable } from '../../app/base/clock.ts'
import { every } from '../../app/base/every.ts'
import { duration } from '../../app/base/times.ts'
import type { RecordLine } from '../../app/contract/pages.ts'
import type { AlarmRules } from '../../app/contract/settings.ts'
import type { LinkView } from '../../app/contract/views.ts'
import { celsiusWords, figure } from '../../app/live/words.ts'
import type { AlarmDesk } from './alarm-desk.ts'
import { DueWatch } from './due-watch.ts'
import type { SessionRun } from './session-run.ts'

type Rule = AlarmRules['rules'][number]

/** What a station watches for before anyone has set rules. */
export const USUAL_RULES: AlarmRules['rules'] = [
  { id: 'silence', kind: 'silence', above: 180, hysteresis: 0, severity: 'warning', enabled: true },
  { id: 'link', kind: 'link', above: 60, hysteresis: 0, severity: 'warning', enabled: true },
  { id: 'disk', kind: 'disk', below: 1e9, hysteresis: 1e8, severity: 'warning', enabled: true },
  { id: 'due', kind: 'calibration-due', above: 30, hysteresis: 0, severity: 'notice', enabled: true },
  { id: 'gap', kind: 'gap', hysteresis: 0, severity: 'notice', enabled: true },
  { id: 'bath', kind: 'bath', hysteresis: 0, severity: 'alarm', enabled: true },
  { id: 'plan-end', kind: 'plan-end', hysteresis: 0, severity: 'notice', enabled: true },
]

export interface AlarmWatchParts {
  readonly clock: Clock
  readonly desk: AlarmDesk
  readonly rules: () => AlarmRules['rules']
  readonly session: () => SessionRun | undefined
  readonly links: () => readonly LinkView[]
  readonly freeBytes: () => number
  /** Records that are due on a day or before it, the most pressing first, and how many they are. */
  readonly due: (by: string, ids?: readonly string[]) => { total: number; rows: RecordLine[] }
}

const LOOK_MS = 5_000
/** Calibrations change by the day: looked at on every so many looks, an hour apart. */
const DUE_EVERY = 720

/** Looks at the rules every few seconds and raises or ends their alarms, each with its hysteresis. */
export class AlarmWatch implements Disposable {
  readonly #p: AlarmWatchParts
  readonly #looking: Disposable
  #looks = 0
  readonly #due: DueWatch
  /** Since when a link has not been ready, by instrument, us. */
  readonly #lostSince = new Map<string, number>()

  constructor(parts: AlarmWatchParts) {
    this.#p = parts
    this.#due = new DueWatch(parts)
    this.#looking = every(parts.clock, LOOK_MS, () => this.#look())
  }

  dispose(): void {
    this.#looking.dispose()
  }

  /** A gap in the record has ended: told where a rule asks for it. */
  gapEnded(channel: string, words: string): void {
    for (const rule of this.#of('gap', channel)) {
      const key = `gap-${channel}`
      this.#p.desk.raise({ key, kind: 'gap', severity: rule.severity, subject: channel, words })
      this.#p.desk.end(key)
    }
  }

  #look(): void {
    const run = this.#p.session()
    for (const rule of this.#p.rules()) {
      if (!rule.enabled) continue
      if (run && (rule.kind === 'value' || rule.kind === 'drift' || rule.kind === 'silence')) {
        this.#channels(rule, run)
      } else if (rule.kind === 'disk') this.#disk(rule)
      else if (rule.kind === 'link') this.#links(rule, run !== undefined)
      else if (rule.kind === 'calibration-due' && this.#looks % DUE_EVERY === 0) this.#due.look(rule)
    }
    this.#looks += 1
  }

  #of(kind: Rule['kind'], subject: string): Rule[] {
    return this.#p
      .rules()
      .filter((r) => r.enabled && r.kind === kind && (r.subject === undefined || r.subject === subject))
  }

  #channels(rule: Rule, run: SessionRun): void {
    const now = run.recorder.now()
    for (const channel of run.setup.bench.channels) {
      if (!channel.enabled || (rule.subject !== undefined && rule.subject !== channel.id)) continue
      if (rule.kind === 'value') {
        const celsius = run.watch.celsius(channel.id)
        this.#judge(
          rule,
          channel.id,
          celsius,
          (limit) => `${channel.name} reads ${celsiusWords(celsius)}, limit ${celsiusWords(limit)}.`,
        )
      } else if (rule.kind === 'drift') {
        // On its way to a setpoint a bath drifts because it is told to.
        if (run.runner && run.runner.state.phase !== 'measuring') continue
        const drift = Math.abs(run.watch.judgement(channel.id)?.driftMkPerMin ?? Number.NaN)
        this.#judge(
          rule,
          channel.id,
          drift,
          (limit) => `${channel.name} drifts by ${figure(drift)} mK/min, limit ${figure(limit)}.`,
        )
      } else {
        const silence = run.silenceS(channel.id, rule.above ?? Number.POSITIVE_INFINITY)
        // A session that has just begun has had no chance yet.
        const silentS = Number.isFinite(silence) ? silence : now.monoUs / 1e6
        this.#judge(
          rule,
          channel.id,
          silentS,
          () => `${channel.name} has given no usable reading for ${duration(silentS)}.`,
        )
      }
    }
  }

  #disk(rule: Rule): void {
    const free = this.#p.freeBytes()
    if (free <= 0) return
    this.#judge(
      rule,
      'disk',
      free,
      (limit) => `The disk has ${figure(free / 1e9)} GB free, limit ${figure(limit / 1e9)}. Make room.`,
    )
  }

  #links(rule: Rule, inSession: boolean): void {
    const nowUs = this.#p.clock.now().monoUs
    for (const link of this.#p.links()) {
      if (rule.subject !== undefined && rule.subject !== link.instrument) continue
      if (link.state === 'ready' || link.state === 'closed' || !inSession)
        this.#lostSince.delete(link.instrument)
      else if (!this.#lostSince.has(link.instrument)) this.#lostSince.set(link.instrument, nowUs)
      const since = this.#lostSince.get(link.instrument)
      const lostS = since === undefined ? 0 : (nowUs - since) / 1e6
      this.#judge(
        { above: 60, ...rule },
        link.instrument,
        lostS,
        () => `${link.name} has not been reached for ${duration(lostS)}: ${link.words}`,
      )
    }
  }

  /** Raises past a limit; ends only once the value has come back by the hysteresis. */
  #judge(rule: Rule, subject: string, value: number, words: (limit: number) => string): void {
    if (!Number.isFinite(value)) return
    const { above, below, hysteresis, kind, severity } = rule
    const key = `${rule.id}-${subject}`
    const over = above !== undefined && value > above
    const under = below !== undefined && value < below
    if (over || under) {
      this.#p.desk.raise({ key, kind, severity, subject, words: words(over ? above : below!) })
      return
    }
    const back =
      (above === undefined || value <= above - hysteresis) &&
      (below === undefined || value >= below + hysteresis)
    if (back) this.#p.desk.end(key)
  }
}
