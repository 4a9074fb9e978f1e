import type { Clock, Disposable } from '../../app/base/clock.ts'
import { every } from '../../app/base/every.ts'
import { duration } from '../../app/base/times.ts'
import {
  ALARM_KINDS,
  ALARM_TABLE,
  type AlarmRow,
  type Gravity,
  type LookKind,
  SEVERITIES,
  type Severity,
} from '../../app/contract/alarm-kinds.ts'
import type { RecordLine } from '../../app/contract/pages.ts'
import type { AlarmRules } from '../../app/contract/settings.ts'
import type { LinkView } from '../../app/contract/views.ts'
import { celsiusWords, figure } from '../../app/live/words.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { Channel } from '../../app/records/bench.ts'
import type { AlarmCause, AlarmDesk } from './alarm-desk.ts'
import { DueWatch } from './due-watch.ts'
import type { SessionRun } from './session-run.ts'

type Rule = AlarmRules['rules'][number]

/** What a station watches for before anyone has set rules. */
export const USUAL_RULES: AlarmRules['rules'] = ALARM_KINDS.flatMap((kind) => {
  const { standing, severity }: AlarmRow = ALARM_TABLE[kind]
  if (!standing) return []
  return [
    {
      id: kind === 'calibration-due' ? 'due' : kind,
      kind,
      hysteresis: 0,
      severity,
      enabled: true,
      ...standing,
    },
  ]
})

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

  /** A gap in the record has ended: told where a rule asks for gaps as long as it. */
  gapEnded(channel: string, gap: Said, seconds: number): void {
    const key = `gap-${channel}`
    const lasting = this.#of('gap', channel).find((rule) => seconds > (rule.above ?? ALARM_TABLE.gap.usual))
    if (!lasting) return
    this.#p.desk.raise({ key, kind: 'gap', severity: lasting.severity, subject: channel, said: gap })
    this.#p.desk.end(key)
  }

  /** A cause as the rules of its kind have it; undefined where none asks for it. */
  obey(cause: AlarmCause): AlarmCause | undefined {
    const row: AlarmRow = ALARM_TABLE[cause.kind]
    if (row.gravity === undefined) return cause
    const [rule] = this.#of(cause.kind, cause.subject ?? '')
    if (rule) return { ...cause, severity: OBEYED[row.gravity](cause.severity, rule.severity) }
    const silenced = this.#p.rules().some(({ kind, enabled }) => kind === cause.kind && !enabled)
    return row.unasked && !silenced ? cause : undefined
  }

  /** Every kind that is looked at has its evaluator here, or this does not compile. */
  readonly #evaluators: Record<LookKind, (rule: Rule, run: SessionRun | undefined) => void> = {
    value: (rule, run) => this.#channels(rule, run, (channel, to) => this.#value(rule, channel, to)),
    drift: (rule, run) => this.#channels(rule, run, (channel, to) => this.#drift(rule, channel, to)),
    silence: (rule, run) => this.#channels(rule, run, (channel, to) => this.#silence(rule, channel, to)),
    disk: (rule) => this.#disk(rule),
    link: (rule, run) => this.#links(rule, run !== undefined),
    'calibration-due': (rule) => {
      if (this.#looks % DUE_EVERY === 0) this.#due.look(rule)
    },
  }

  #look(): void {
    const run = this.#p.session()
    for (const rule of this.#p.rules()) {
      if (rule.enabled) this.#evaluators[rule.kind as LookKind]?.(rule, run)
    }
    this.#looks += 1
  }

  #of(kind: Rule['kind'], subject: string): Rule[] {
    return this.#p
      .rules()
      .filter((r) => r.enabled && r.kind === kind && (r.subject === undefined || r.subject === subject))
  }

  #channels(
    rule: Rule,
    run: SessionRun | undefined,
    judge: (channel: Channel, run: SessionRun) => void,
  ): void {
    for (const channel of run?.setup.bench.channels ?? []) {
      if (channel.enabled && (rule.subject === undefined || rule.subject === channel.id)) judge(channel, run!)
    }
  }

  #value(rule: Rule, { id, name }: Channel, run: SessionRun): void {
    const celsius = run.watch.celsius(id)
    this.#judge(rule, id, celsius, (limit) =>
      said('value-past-limit', { channel: name, value: celsiusWords(celsius), limit: celsiusWords(limit) }),
    )
  }

  #drift(rule: Rule, { id, name }: Channel, run: SessionRun): void {
    // On its way to a setpoint a bath drifts because it is told to.
    if (run.runner && run.runner.state.phase !== 'measuring') return
    const drift = Math.abs(run.watch.judgement(id)?.driftMkPerMin ?? Number.NaN)
    this.#judge(rule, id, drift, (limit) =>
      said('drift-past-limit', { channel: name, drift: figure(drift), limit: figure(limit) }),
    )
  }

  #silence(rule: Rule, { id, name }: Channel, run: SessionRun): void {
    const silence = run.silenceS(id, rule.above ?? Number.POSITIVE_INFINITY)
    // A session that has just begun has had no chance yet.
    const silentS = Number.isFinite(silence) ? silence : run.recorder.now().monoUs / 1e6
    this.#judge(rule, id, silentS, () => said('channel-silent', { channel: name, time: duration(silentS) }))
  }

  #disk(rule: Rule): void {
    const free = this.#p.freeBytes()
    if (free <= 0) return
    this.#judge(rule, 'disk', free, (limit) =>
      said('disk-low', { free: figure(free / 1e9), limit: figure(limit / 1e9) }),
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
      this.#judge({ above: ALARM_TABLE.link.usual, ...rule }, link.instrument, lostS, () =>
        said('link-away', { instrument: link.name, time: duration(lostS), why: link.words }),
      )
    }
  }

  /** Raises past a limit; ends only once the value has come back by the hysteresis. */
  #judge(rule: Rule, subject: string, value: number, tell: (limit: number) => Said): void {
    if (!Number.isFinite(value)) return
    const { above, below, hysteresis, kind, severity } = rule
    const key = `${rule.id}-${subject}`
    const over = above !== undefined && value > above
    const under = below !== undefined && value < below
    if (over || under) {
      this.#p.desk.raise({ key, kind, severity, subject, said: tell(over ? above : below!) })
      return
    }
    const back =
      (above === undefined || value <= above - hysteresis) &&
      (below === undefined || value >= below + hysteresis)
    if (back) this.#p.desk.end(key)
  }
}

const lesser = (a: Severity, b: Severity) => (SEVERITIES.indexOf(a) < SEVERITIES.indexOf(b) ? a : b)
const graver = (a: Severity, b: Severity) => (SEVERITIES.indexOf(a) < SEVERITIES.indexOf(b) ? b : a)

const OBEYED: Record<Gravity, (own: Severity, ofRule: Severity) => Severity> = {
  'as-ruled': (_own, ofRule) => ofRule,
  'at-most': (own, ofRule) => (own === 'alarm' ? ofRule : lesser(own, ofRule)),
  'at-least': (own, ofRule) => (own === 'notice' ? ofRule : graver(own, ofRule)),
}
