/** A station that commits readings at a pace and sends them on, in this process or, as `node forward-station.ts`, in its own. */
import { Bench } from '../../app/records/bench.ts'
import type { NewReading } from '../../app/records/reading.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { newSession } from '../../main/station/session-setup.ts'
import { Forwarder, type ForwardState } from '../../main/store/forward/forwarder.ts'
import { MqttTarget } from '../../main/store/forward/mqtt.ts'
import { Outbox } from '../../main/store/forward/outbox.ts'
import { PostgresTarget } from '../../main/store/forward/postgres.ts'
import { createSessionFile, openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import { exampleClock } from './example-data.ts'

/** The minute in which all of them begin, UTC in microseconds. */
export const MINUTE = Date.UTC(2026, 2, 1, 18, 4) * 1000
const PER_BATCH = 10
/** Slow enough that stations are still at it while servers are stopped and one of them is killed. */
const PACE_MS = 400
/** Longest that a station in its own process goes on; the test that starts it waits longer. */
const PATIENCE_MS = 100_000

/** A session as a station begins one at that minute. */
export function beginExample(store: StationStore): { file: SessionFile; id: string } {
  const bench = Bench.parse({ id: 'bench', name: 'Bench', instruments: [], channels: [], scanEveryS: 1 })
  const { info, setup } = newSession(
    { kind: 'recording', plan: null, operator: 'A. Person' },
    { store, bench, profileTexts: {}, program: 'Stillpoint', programVersion: '0.1.0', utcUs: MINUTE },
  )
  const file = createSessionFile(store.sessionPath(info.id), { info, setup, clock: exampleClock(MINUTE) })
  store.registerSession(file)
  return { file, id: info.id }
}

export class FeedingStation {
  readonly #store: StationStore
  readonly #file: SessionFile
  readonly #forwarders: Forwarder[]
  readonly #wanted: number
  readonly #id: string
  #timer: NodeJS.Timeout | undefined

  constructor(folder: string, urls: { postgres: string; mqtt: string }, wanted: number) {
    const store = openStationStore(folder, { clock: exampleClock(MINUTE) })
    const [begun] = store.sessions('', 1)
    this.#store = store
    this.#wanted = wanted
    if (begun) {
      this.#id = begun.info.id
      const path = store.sessionPath(this.#id)
      this.#file = openSessionFile(path, { mode: 'write', clock: exampleClock(MINUTE) })
    } else {
      const { file, id } = beginExample(store)
      this.#id = id
      this.#file = file
    }
    const clock = new RealClock()
    const targets = {
      archive: new PostgresTarget(urls.postgres),
      broker: new MqttTarget({ url: urls.mqtt, topic: 'lab' }, store.station),
    }
    this.#forwarders = Object.entries(targets).map(
      ([name, target]) => new Forwarder({ outbox: new Outbox(store, name), target, clock }),
    )
    for (const forwarder of this.#forwarders) forwarder.follow(this.#id, store.sessionPath(this.#id), true)
  }

  /** Commits a batch every few milliseconds until the session has what is wanted, then ends it. */
  start(): void {
    this.#timer = setInterval(() => {
      const from = this.#file.lastSeq
      if (from >= this.#wanted) {
        clearInterval(this.#timer)
        // One that was killed after its end has it on the disk already.
        if (this.#file.info.ending === null) this.#file.finish('complete', 'done')
        this.#store.registerSession(this.#file)
      } else {
        const many = Math.min(PER_BATCH, this.#wanted - from)
        this.#file.commit({ readings: Array.from({ length: many }, (_, i) => this.#reading(from + i)) })
      }
      for (const forwarder of this.#forwarders) forwarder.wake()
    }, PACE_MS)
  }

  get states(): ForwardState[] {
    return this.#forwarders.map(({ state }) => state)
  }

  get allSent(): boolean {
    const { ending } = this.#file.info
    return (
      ending !== null &&
      this.#forwarders.every(({ state }) => state.state === 'up-to-date') &&
      ['archive', 'broker'].every((name) => new Outbox(this.#store, name).unconfirmed().length === 0)
    )
  }

  async close(): Promise<void> {
    clearInterval(this.#timer)
    await Promise.all(this.#forwarders.map((forwarder) => forwarder.close()))
    this.#file.close()
    this.#store.close()
  }

  /** No two of any two stations are alike. */
  #reading(i: number): NewReading {
    const raw = `${i}.${BigInt(`0x${this.#store.station.replaceAll('-', '')}`)}`
    return {
      channel: `ch${i % 3}`,
      utcUs: MINUTE + i * 1000,
      monoUs: i * 1000,
      raw,
      value: raw,
      unit: 'ohm',
      marks: [],
      currentMa: 1,
    }
  }
}

if (import.meta.main) {
  const [folder, urls, wanted] = process.argv.slice(2)
  const station = new FeedingStation(folder!, JSON.parse(urls!), Number(wanted))
  station.start()
  const looking = setInterval(() => {
    if (!station.allSent) return
    clearInterval(looking)
    clearTimeout(patience)
    void station.close()
  }, 50)
  // Whoever waits for its end hears why there is none, and nobody's orphan goes on for ever.
  const patience = setTimeout(() => {
    console.error(`not everything was sent within ${PATIENCE_MS / 1000} s: ${JSON.stringify(station.states)}`)
    process.exit(3)
  }, PATIENCE_MS)
}
