import type { Clock, Disposable } from '../../app/base/clock.ts'
import type { AlarmRules } from '../../app/contract/settings.ts'
import type { LinkView } from '../../app/contract/views.ts'
import { said } from '../../app/messages/said.ts'
import { DUE_KINDS } from '../../app/records/record-kinds.ts'
import type { StationStore } from '../store/station-store.ts'
import { AlarmDesk } from './alarm-desk.ts'
import { AlarmPost } from './alarm-post.ts'
import { AlarmWatch, USUAL_RULES } from './alarm-watch.ts'
import type { StationLog } from './log.ts'
import type { SessionRun } from './session-run.ts'
import type { AlarmTrace } from './unseen-alarms.ts'

export interface StationAlarmsParts {
  readonly folder: string
  readonly clock: Clock
  readonly store: StationStore
  readonly log: StationLog
  readonly smtpPassword?: string | undefined
  readonly webhookToken?: string | undefined
  readonly session: () => SessionRun | undefined
  readonly links: () => readonly LinkView[]
  readonly freeBytes: () => number
  readonly benchName: () => string
}

/** The alarms of a station together: the list, the rules that raise them, and the post that tells people. */
export class StationAlarms implements Disposable {
  readonly desk: AlarmDesk
  readonly watch: AlarmWatch
  readonly post: AlarmPost
  readonly #store: StationStore
  readonly #ends: Disposable[]
  #rules: AlarmRules | undefined

  constructor(parts: StationAlarmsParts) {
    const { folder, clock, store, log, smtpPassword, webhookToken, session, links, freeBytes } = parts
    this.#store = store
    this.desk = new AlarmDesk(clock)
    this.watch = new AlarmWatch({
      clock,
      desk: this.desk,
      rules: () => this.rules.rules,
      session,
      links,
      freeBytes,
      due: (dueBy, ids) => store.records.list({ kinds: DUE_KINDS, dueBy, ids, sort: 'due' }),
    })
    this.desk.obey = (cause) => this.watch.obey(cause)
    this.post = new AlarmPost({
      clock,
      folder,
      log,
      smtpPassword,
      webhookToken,
      desk: this.desk,
      rules: () => this.rules,
      from: () => {
        const run = session()
        return `${parts.benchName()}${run ? `, session ${run.info.name}` : ''}`
      },
    })
    const written = this.desk.onDidChange.on(({ what, alarm, cause }) => {
      if (what === 'ended' || cause.quiet) return
      session()?.recorder.tell({
        kind: what === 'raised' ? 'alarm' : 'alarm-acknowledged',
        who: alarm.acknowledgedBy ?? 'station',
        subject: alarm.subject,
        said:
          what === 'raised'
            ? said('alarm', { words: cause.said })
            : said('alarm-seen', { who: alarm.acknowledgedBy ?? 'station', words: cause.said }),
        data: { key: cause.key, kind: cause.kind, severity: alarm.severity } satisfies AlarmTrace,
      })
    })
    this.#ends = [written, this.watch, this.post]
  }

  /** The rules in force: as saved, or the usual ones while nobody has set any. */
  get rules(): AlarmRules {
    this.#rules ??= this.#read()
    return this.#rules
  }

  /** The rules were saved anew. */
  reread(): void {
    this.#rules = undefined
  }

  dispose(): void {
    for (const end of this.#ends) end.dispose()
  }

  #read(): AlarmRules {
    const saved = this.#store.alarmRules()
    const everSaved = this.#store.records.known('alarm-rules', 'station')
    return everSaved ? saved : { ...saved, rules: USUAL_RULES }
  }
}
