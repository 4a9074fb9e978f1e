import type { AlarmRules, Settings } from '../../../app/contract/settings.ts'
import type { LedgerEntry } from '../../../app/contract/studies.ts'
import type { StationState } from '../../../app/contract/views.ts'
import type { Bench } from '../../../app/records/bench.ts'

// What onlookers are told in place of the whole: no address of an instrument, a server or a person.

const HIDDEN = 'not shown to onlookers'

export const benchForOnlookers = (bench: Bench): Bench => ({
  ...bench,
  instruments: bench.instruments.map((one) => ({ ...one, link: { kind: 'tcp', host: HIDDEN, port: 1 } })),
})

export const stateForOnlookers = (state: StationState): StationState => ({
  ...state,
  links: state.links.map((link) => ({ ...link, address: HIDDEN, words: link.state })),
})

export const settingsForOnlookers = (settings: Settings): Settings => ({
  ...settings,
  backupFolder: null,
  forward: { mqtt: null, postgres: null },
})

export const rulesForOnlookers = (rules: AlarmRules): AlarmRules => ({ ...rules, email: null, webhook: null })

/** Records that hold addresses. */
const WITH_ADDRESSES = /^(settings|alarm-rules|bench|person) /

export const entryForOnlookers = (entry: LedgerEntry): LedgerEntry =>
  WITH_ADDRESSES.test(entry.what) ? { ...entry, old: null, new: null } : entry
