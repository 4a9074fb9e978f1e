import { join } from 'node:path'
import pg from 'pg'
import { afterAll, expect, onTestFinished } from 'vitest'
import { Thermometer } from '../../app/records/register.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { Exchange, type ExchangeParts } from '../../main/store/laboratory/exchange.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import { temporaryFolder } from './example.ts'
import { postgres, type TestServer } from './forward-servers.ts'

export async function until(what: () => boolean | Promise<boolean>, seconds = 60): Promise<void> {
  const end = performance.now() + seconds * 1000
  while (performance.now() < end) {
    if (await what()) return
    await new Promise((resolve) => setTimeout(resolve, 20))
  }
  throw new Error(`it did not come about within ${seconds} s`)
}

export interface LaboratoryServer extends TestServer {
  readonly url: string
  query(sql: string): Promise<Record<string, unknown>[]>
  /** Starts and waits until it answers questions. */
  answer(): Promise<void>
}

let shared: Promise<TestServer & { url: string }> | undefined
let bases = 0

async function begun(): Promise<TestServer & { url: string }> {
  const server = await postgres()
  await server.start()
  return server
}

afterAll(async () => {
  await (await shared)?.remove()
})

/** An empty database of a laboratory, on one server on loopback for all tests of a file. */
export async function laboratoryServer(): Promise<LaboratoryServer> {
  shared ??= begun()
  const server = await shared
  const ask = async (base: string, sql: string): Promise<Record<string, unknown>[]> => {
    const client = new pg.Client({ connectionString: server.url.replace(/postgres$/, base) })
    await client.connect()
    try {
      return (await client.query(sql)).rows
    } finally {
      await client.end()
    }
  }
  const answers = () =>
    until(() =>
      ask('postgres', 'SELECT 1').then(
        () => true,
        () => false,
      ),
    )
  bases += 1
  const base = `laboratory_${bases}`
  await answers()
  await ask('postgres', `CREATE DATABASE ${base}`)
  const answer = async () => {
    await server.start()
    await answers()
  }
  return { ...server, url: server.url.replace(/postgres$/, base), answer, query: (sql) => ask(base, sql) }
}

/** A station of the laboratory as far as its records go, with the real exchange. */
export class TestBench {
  readonly name: string
  readonly folder: string
  store: StationStore
  exchange: Exchange
  readonly clock = new RealClock()
  /** By how much its computer's clock is wrong, us. */
  wrongUs = 0
  readonly #parts: Partial<ExchangeParts>
  readonly #url: string
  #open = true

  constructor(
    name: string,
    url: string,
    folder = join(temporaryFolder(), 'data'),
    parts: Partial<ExchangeParts> & { wrongUs?: number } = {},
  ) {
    const { wrongUs = 0, ...more } = parts
    this.name = name
    this.folder = folder
    this.wrongUs = wrongUs
    this.#url = url
    this.#parts = more
    this.store = openStationStore(folder, { clock: this.#wrongClock() })
    this.exchange = this.#begin()
    onTestFinished(() => this.close())
  }

  save(id: string, note: string, who = this.name): void {
    const before = this.store.records.one('thermometer', id)
    const blank = Thermometer.parse({ id, name: id, kind: 'sprt', lowC: -40, highC: 660 })
    this.store.records.save('thermometer', id, { ...(before ?? blank), note }, { who, why: 'test' })
    this.exchange.wake()
  }

  note(id: string): string | undefined {
    return this.store.records.one('thermometer', id)?.note
  }

  async upToDate(): Promise<void> {
    await until(() => this.exchange.state.state === 'up-to-date')
  }

  async close(): Promise<void> {
    if (!this.#open) return
    this.#open = false
    await this.exchange.close()
    this.store.close()
  }

  async reopen(): Promise<void> {
    await this.close()
    this.store = openStationStore(this.folder, { clock: this.#wrongClock() })
    this.exchange = this.#begin()
    this.#open = true
  }

  #wrongClock() {
    return {
      now: () => {
        const { utcUs, monoUs } = this.clock.now()
        return { utcUs: utcUs + this.wrongUs, monoUs }
      },
    }
  }

  #begin(): Exchange {
    const clock = {
      ...this.#wrongClock(),
      after: this.clock.after.bind(this.clock),
      sleep: this.clock.sleep.bind(this.clock),
    }
    return new Exchange({
      store: this.store,
      url: this.#url,
      clock,
      name: () => this.name,
      pattern: () => 'LAB-{year}-{number:4}',
      ...this.#parts,
    })
  }
}

/** Waits until two benches have the same versions of every record they share. */
export async function same(
  benches: readonly TestBench[],
  kind: 'thermometer' = 'thermometer',
): Promise<void> {
  const all = ({ store }: TestBench) =>
    JSON.stringify(
      store.records
        .ids(kind)
        .map((id) => [
          id,
          store.records.one(kind, id),
          store.records.versions(kind, id).length,
          store.records.sides(kind, id).map(({ hash }) => hash),
        ]),
    )
  await until(() => new Set(benches.map(all)).size === 1)
  for (const { store } of benches) {
    expect(store.records.verify()).toMatchObject({ whole: true, firstBreak: null })
    expect(store.verifyLedger()).toMatchObject({ whole: true })
  }
}
