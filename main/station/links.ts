import type { Disposable } from '../../app/base/clock.ts'
import type { LinkView } from '../../app/contract/views.ts'
import { type AnyInstrument, InstrumentError } from '../../app/instruments/faces.ts'
import type { Bench, BenchInstrument } from '../../app/records/bench.ts'
import { linkWords } from '../../app/records/link-words.ts'
import { TrafficLog } from './traffic-log.ts'

/** Opens what a bench lists and keeps it open; links mend themselves. */
export class Links {
  readonly traffic = new TrafficLog()
  readonly #make: (spec: BenchInstrument) => AnyInstrument
  readonly #onChange: () => void
  readonly #instruments = new Map<
    string,
    { spec: BenchInstrument; instrument: AnyInstrument; ends: Disposable[] }
  >()

  /** Instruments that cannot be talked to at all, such as one whose profile has an error, and why. */
  readonly #unusable = new Map<string, { spec: BenchInstrument; words: string }>()

  constructor(make: (spec: BenchInstrument) => AnyInstrument, onChange: () => void) {
    this.#make = make
    this.#onChange = onChange
  }

  get instruments(): ReadonlyMap<string, AnyInstrument> {
    return new Map([...this.#instruments].map(([id, { instrument }]) => [id, instrument]))
  }

  get(id: string): AnyInstrument | undefined {
    return this.#instruments.get(id)?.instrument
  }

  /** Begins to connect every instrument of the bench; what is open with the same settings stays so. */
  async connect(bench: Bench): Promise<void> {
    const wanted = new Map(bench.instruments.map((spec) => [spec.id, spec]))
    for (const [id, { spec }] of this.#instruments) {
      const now = wanted.get(id)
      if (!now || JSON.stringify(now) !== JSON.stringify(spec)) await this.#close(id)
    }
    this.#unusable.clear()
    for (const spec of bench.instruments) if (!this.#instruments.has(spec.id)) this.#open(spec)
    this.#onChange()
  }

  /** What keeps instruments of the bench from being used, in words; empty where nothing does. */
  get problems(): string[] {
    return [...this.#unusable.values()].map(({ words }) => words)
  }

  /** Makes the instruments of these profiles anew, where they were open or wanted to be. */
  async renew(profiles: ReadonlySet<string>): Promise<void> {
    const open = [...this.#instruments.values()].map(({ spec }) => spec)
    const concerned = [...open, ...[...this.#unusable.values()].map(({ spec }) => spec)].filter((spec) =>
      profiles.has(spec.profile),
    )
    for (const spec of concerned) {
      await this.#close(spec.id)
      this.#unusable.delete(spec.id)
      this.#open(spec)
    }
    if (concerned.length > 0) this.#onChange()
  }

  async closeAll(): Promise<void> {
    this.#unusable.clear()
    await Promise.all([...this.#instruments.keys()].map((id) => this.#close(id)))
    this.#onChange()
  }

  views(bench: Bench | undefined): LinkView[] {
    return (bench?.instruments ?? []).map((spec) => {
      const instrument = this.get(spec.id)
      const { link } = spec
      return {
        instrument: spec.id,
        name: spec.name,
        role: instrument?.role ?? '',
        profile: spec.profile,
        state: instrument?.status.state ?? 'closed',
        words: this.#unusable.get(spec.id)?.words ?? instrument?.status.words ?? 'not connected',
        address: linkWords(link),
        identity: instrument?.identity?.raw ?? null,
        exchanges: instrument?.status.exchanges ?? 0,
        faults: instrument?.status.faults ?? 0,
      }
    })
  }

  #open(spec: BenchInstrument): void {
    const instrument = this.#tryMake(spec)
    if (!instrument) return
    const ends = [this.traffic.follow(instrument), instrument.onDidChangeStatus(() => this.#onChange())]
    this.#instruments.set(spec.id, { spec, instrument, ends })
    // It goes on trying by itself; its status says what is wrong.
    instrument.open().catch(() => this.#onChange())
  }

  #tryMake(spec: BenchInstrument): AnyInstrument | undefined {
    try {
      return this.#make(spec)
    } catch (fault) {
      if (!(fault instanceof InstrumentError)) throw fault
      this.#unusable.set(spec.id, { spec, words: fault.message })
      return undefined
    }
  }

  async #close(id: string): Promise<void> {
    const open = this.#instruments.get(id)
    if (!open) return
    this.#instruments.delete(id)
    for (const end of open.ends) end.dispose()
    await open.instrument.close()
  }
}
