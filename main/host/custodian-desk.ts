import { randomBytes } from 'node:crypto'
import type { StationStore } from '../store/station-store.ts'

const VALID_MS = 3_600_000

/** Lets the custodian of the register in for an hour at a time. There is no custodian until the first start names one. */
export class CustodianDesk {
  readonly #store: StationStore
  readonly #open = new Map<string, { name: string; until: number }>()

  constructor(store: StationStore) {
    this.#store = store
  }

  get known(): boolean {
    return this.#store.custodian() !== undefined
  }

  /** A token for an hour; undefined where name or password are wrong. The first caller becomes the custodian. */
  enter(name: string, password: string): { token: string; first: boolean } | undefined {
    const first = !this.known
    if (first) this.#store.setCustodian(name, password, name, 'first start')
    else if (!this.#store.checkCustodian(name, password)) return undefined
    const token = randomBytes(24).toString('base64url')
    this.#open.set(token, { name, until: Date.now() + VALID_MS })
    return { token, first }
  }

  /** Whose token this is, or undefined where it is none or has run out. */
  whose(token: string): string | undefined {
    const entry = this.#open.get(token)
    if (!entry || entry.until < Date.now()) {
      this.#open.delete(token)
      return undefined
    }
    return entry.name
  }
}
