import type { Disposable } from '../../../app/base/clock.ts'
import type { BenchLine, Undecided } from '../../../app/contract/calls-laboratory.ts'
import { celsiusWords } from '../../../app/live/words.ts'
import { asTold, said } from '../../../app/messages/said.ts'
import { HOT_C } from '../../../app/records/bench-state.ts'
import { RealClock } from '../../station/clocks/real.ts'
import type { Station } from '../../station/station.ts'
import { StoreError } from '../../store/errors.ts'
import { Exchange, type ExchangeState } from '../../store/laboratory/exchange.ts'
import { LocalCopy } from '../../store/laboratory/local-copy.ts'
import type { SessionReader } from '../../store/reader.ts'
import { isKind } from '../../store/records/kinds.ts'
import type { Act } from '../../store/records/records.ts'
import type { StationStore } from '../../store/station-store.ts'
import { benchState } from './bench-state.ts'
import { recalledSince } from './recalled.ts'
import { undecidedOf } from './undecided.ts'

const ALARM = 'laboratory'

interface Parts {
  readonly station: Station
  readonly store: StationStore
  readonly reader: SessionReader
  readonly clock: { now(): { utcUs: number } }
  /** Everything that reads a session lets it go. */
  readonly letGo: (session: string) => void
}

/** This bench among the others of its laboratory; nothing is exchanged unless the settings name a database. */
export class LaboratoryDesk {
  readonly #p: Parts
  readonly #local: LocalCopy
  readonly #listening: Disposable
  #exchange: Exchange | undefined
  #url: string | undefined
  #seen = ''
  /** Records that were recalled while the session that runs uses them. */
  readonly #recalled = new Set<string>()
  #turn: Promise<void> = Promise.resolve()

  constructor(parts: Parts) {
    this.#p = parts
    this.#local = new LocalCopy(parts.store)
    parts.station.elsewhere = () => this.elsewhere()
    this.#listening = parts.station.onDidChange.on(() => this.#look())
    this.#look()
  }

  /** How this station stands with the laboratory's database; null where there is none. */
  get exchange(): ExchangeState | null {
    return this.#exchange?.state ?? null
  }

  get benches(): BenchLine[] {
    const { station, store } = this.#p
    const own = {
      station: store.station,
      name: this.#name(),
      ...{ own: true, silent: false, state: this.#bench() },
    }
    const others = (this.#exchange?.benches ?? []).map(({ state, ...line }) => ({
      ...line,
      own: false,
      state: state ?? null,
    }))
    return [...(station.bench || others.length > 0 ? [own] : []), ...others]
  }

  undecided(): Undecided[] {
    const { store } = this.#p
    return store.records
      .undecided()
      .map((record) => undecidedOf(store, record, (station) => this.#nameOf(station)))
  }

  /** Throws StoreError 'not-found' where there is nothing to decide any more. */
  decide(kind: string, id: string, hash: string, act: Act): void {
    if (!isKind(kind)) throw new StoreError('not-found', said('no-such-record', { kind, id }), { kind, id })
    this.#p.store.records.decide(kind, id, hash, act)
    this.#p.station.touched(kind === 'order' || kind === 'item' ? 'orders' : 'register')
  }

  /** Records that are at work on another bench, by id, in words. */
  elsewhere(): Record<string, string> {
    const found: Record<string, string> = {}
    for (const { name, state, silent } of this.#exchange?.benches ?? [])
      for (const id of state?.inUse ?? []) {
        const warm = state?.bathC ?? null
        const bath = warm !== null && warm > HOT_C ? `, in a bath at ${celsiusWords(Math.round(warm))}` : ''
        found[id] = `in use at ${name}${bath}${silent ? ', which has not been heard of since' : ''}`
      }
    return found
  }

  /** Brings the file of a session of another bench here where it is not yet. Throws StoreError where that cannot be. */
  async bring(session: string): Promise<void> {
    const { store, station } = this.#p
    if (!store.isAway(session)) return
    if (!this.#exchange)
      throw new StoreError('refused', said('session-of-another-bench', { session }), { session })
    await this.#exchange.bring(session)
    station.touched('sessions')
  }

  async close(): Promise<void> {
    this.#listening.dispose()
    await this.#turn
    await this.#exchange?.close()
  }

  /** Says how the bench stands; where something was saved, takes up changed settings and gives it to the others. */
  #look(): void {
    const { station, store } = this.#p
    const { benches: _, ...versions } = station.versions
    const seen = JSON.stringify(versions)
    if (seen === this.#seen) {
      this.#exchange?.stir()
      return
    }
    this.#seen = seen
    const url = store.settings()?.sharedRegister?.url
    if (url !== this.#url) {
      this.#url = url
      this.#turn = this.#turn.then(() => this.#arrange(url))
    }
    this.#exchange?.wake()
    this.#lookAtRecalled()
  }

  async #arrange(url: string | undefined): Promise<void> {
    await this.#exchange?.close()
    this.#exchange = undefined
    const { station, store, clock, reader, letGo } = this.#p
    station.alarms.end(ALARM)
    if (url === undefined) return
    const real = new RealClock()
    this.#exchange = new Exchange({
      store,
      url,
      clock: real,
      utcUs: () => clock.now().utcUs,
      name: () => this.#name(),
      bench: () => this.#bench(),
      pattern: () => store.settings()?.certificatePattern,
      hands: {
        copy: (source, into) => reader.long().backup(source, into),
        verify: (path, anchors) => reader.long().verify(path, { anchors }),
        letGo,
      },
      onDidTake: (what) => {
        if (what === 'records')
          for (const part of ['register', 'orders', 'settings'] as const) station.touched(part)
        else station.touched(what)
      },
      onDidChange: () => this.#tell(),
    })
  }

  /** What a person has to do something about is an alarm; a database that is away is not, the night goes on. */
  #tell(): void {
    const { station } = this.#p
    const state = this.#exchange?.state
    const words = state?.state === 'refused' ? [state.words] : [...(state?.troubles ?? [])]
    if (words.length === 0) station.alarms.end(ALARM)
    else
      station.alarms.raise({
        ...({ key: ALARM, kind: 'link', severity: 'warning', subject: null } as const),
        said: asTold(words.join(' ')),
      })
    station.touched('benches')
  }

  /** A reference that is recalled while it measures is told at once where it measures. */
  #lookAtRecalled(): void {
    const { station, store } = this.#p
    const run = station.session
    const now = run ? recalledSince(store, run.setup.register) : []
    for (const id of this.#recalled)
      if (!now.some((one) => one.id === id)) {
        this.#recalled.delete(id)
        station.alarms.end(`recalled-${id}`)
      }
    for (const { id, words } of now) {
      if (this.#recalled.has(id)) continue
      this.#recalled.add(id)
      station.alarms.raise({
        ...({ key: `recalled-${id}`, kind: 'calibration-due', severity: 'alarm', subject: id } as const),
        said: said('recalled-in-use', { words }),
      })
    }
  }

  #bench() {
    const run = this.#p.station.session
    return benchState(this.#p.station.state(), run && { operator: run.info.operator, bench: run.setup.bench })
  }

  #name(): string {
    return this.#p.store.settings()?.sharedRegister?.bench ?? this.#p.station.bench?.name ?? 'This bench'
  }

  #nameOf(station: string): string {
    return station === this.#p.store.station ? this.#name() : this.#local.nameOf(station)
  }
}
