import type { Disposable } from '../../app/base/clock.ts'
import type { LinkView } from '../../app/contract/views.ts'
import type { AnyInstrument } from '../../app/instruments/faces.ts'
import type { Bench, BenchInstrument } from '../../app/records/bench.ts'
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
    for (const spec of bench.instruments) if (!this.#instruments.has(spec.id)) this.#open(spec)
    this.#onChange()
  }

  async closeAll(): Promise<void> {
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
        words: instrument?.status.words ?? 'not connected',
        address: link.kind === 'tcp' ? `${link.host}:${link.port}` : link.path,
        identity: instrument?.identity?.raw ?? null,
        exchanges: instrument?.status.exchanges ?? 0,
        faults: instrument?.status.faults ?? 0,
      }
    })
  }

  #open(spec: BenchInstrument): void {
    const instrument = this.#make(spec)
    const ends = [this.traffic.follow(instrument), instrument.onDidChangeStatus(() => this.#onChange())]
    this.#instruments.set(spec.id, { spec, instrument, ends })
    // It goes on trying by itself; its status says what is wrong.
    instrument.open().catch(() => this.#onChange())
  }

  async #close(id: string): Promise<void> {
    const open = this.#instruments.get(id)
    if (!open) return
    this.#instruments.delete(id)
    for (const end of open.ends) end.dispose()
    await open.instrument.close()
  }
}
