import type { AlarmRules, Settings } from '../../../app/contract/settings.ts'
import type { LedgerEntry } from '../../../app/contract/studies.ts'
import type { AlarmView, StationState } from '../../../app/contract/views.ts'
import type { Bench } from '../../../app/records/bench.ts'
import type { SessionEvent } from '../../../app/records/session.ts'

// What onlookers are told in place of the whole: no address of an instrument, a server or a person.

const HIDDEN = 'not shown to onlookers'

export const benchForOnlookers = (bench: Bench): Bench => ({
  ...bench,
  instruments: bench.instruments.map((one) => ({ ...one, link: { kind: 'tcp', host: HIDDEN, port: 1 } })),
})

/** Words that links and alarms say, without the addresses of a bench's instruments, which faults of the wire name. */
function withoutAddresses(bench: Bench | undefined): (words: string) => string {
  const places = (bench?.instruments ?? []).flatMap(({ link }) => [
    ...('host' in link ? [link.host] : []),
    ...('host' in link && 'port' in link ? [`${link.host}:${link.port}`] : []),
    ...('path' in link ? [link.path] : []),
  ])
  // The longest first: a host is part of its own address.
  const known = [...new Set(places)].filter(Boolean).toSorted((a, b) => b.length - a.length)
  return (words) => known.reduce((text, place) => text.replaceAll(place, `(${HIDDEN})`), words)
}

export const alarmsForOnlookers = (alarms: AlarmView[], bench: Bench | undefined): AlarmView[] => {
  const clean = withoutAddresses(bench)
  return alarms.map((alarm) => ({ ...alarm, words: clean(alarm.words) }))
}

export const eventsForOnlookers = (events: SessionEvent[], bench: Bench | undefined): SessionEvent[] => {
  const clean = withoutAddresses(bench)
  return events.map((event) => ({
    ...event,
    words: clean(event.words),
    data: JSON.parse(clean(JSON.stringify(event.data))) as SessionEvent['data'],
  }))
}

export const stateForOnlookers = (state: StationState, bench: Bench | undefined): StationState => {
  const clean = withoutAddresses(bench)
  return {
    ...state,
    links: state.links.map((link) => ({ ...link, address: HIDDEN, words: link.state })),
    alarms: alarmsForOnlookers(state.alarms, bench),
    strip: state.strip.map((mark) => ({ ...mark, words: clean(mark.words) })),
    runner: { ...state.runner, words: clean(state.runner.words) },
  }
}

export const settingsForOnlookers = (settings: Settings): Settings => ({
  ...settings,
  backupFolder: null,
  sharedRegister: null,
  stampUrl: null,
  forward: { mqtt: null, postgres: null },
})

export const rulesForOnlookers = (rules: AlarmRules): AlarmRules => ({ ...rules, email: null, webhook: null })

/** Records that hold addresses. */
const WITH_ADDRESSES = /^(settings|alarm-rules|bench|person|api-token) /

export const entryForOnlookers = (entry: LedgerEntry): LedgerEntry =>
  WITH_ADDRESSES.test(entry.what) ? { ...entry, old: null, new: null } : entry
