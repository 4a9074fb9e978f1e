import { said } from '../../app/messages/said.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { StationStore } from '../store/station-store.ts'
import { StationError } from './station-error.ts'

/** Which of the benches in the store is the one in use; the ledger remembers who chose it. */
export class BenchChoice {
  readonly #store: StationStore
  #id: string | undefined
  /** As read; forgotten when it is saved or another is chosen. */
  #bench: Bench | undefined

  constructor(store: StationStore) {
    this.#store = store
  }

  get bench(): Bench | undefined {
    this.#id ??= this.#remembered()
    if (this.#id !== undefined) this.#bench ??= this.#store.records.one('bench', this.#id)
    return this.#bench
  }

  /** Throws StationError 'no-bench'. */
  need(): Bench {
    const { bench } = this
    if (!bench) throw new StationError('no-bench', said('no-bench-set-up', {}))
    return bench
  }

  choose(id: string, who: string): void {
    if (!this.#store.records.one('bench', id)) {
      throw new StationError('no-bench', said('no-such-bench', { id }), { id })
    }
    const old = this.bench?.id ?? null
    this.#store.appendLedger({ who, what: 'bench chosen', subject: 'bench', old, new: id, why: '' })
    this.#id = id
    this.reread()
  }

  reread(): void {
    this.#bench = undefined
  }

  #remembered(): string | undefined {
    const benches = this.#store.benches()
    // An empty station is asked for its bench at every look of the alarms.
    if (benches.length === 0) return undefined
    const chosen = this.#store.ledger({ subject: 'bench', most: 1 })[0]?.new
    return benches.find((b) => b.id === chosen)?.id ?? benches[0]?.id
  }
}
