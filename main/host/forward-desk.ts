import type { Disposable } from '../../app/base/clock.ts'
import type { Settings } from '../../app/contract/settings.ts'
import { RealClock } from '../station/clocks/real.ts'
import type { Station } from '../station/station.ts'
import { Forwarder, type ForwardState } from '../store/forward/forwarder.ts'
import { Outbox } from '../store/forward/outbox.ts'
import type { ForwardTarget } from '../store/forward/target.ts'
import type { StationStore } from '../store/station-store.ts'

interface Way {
  readonly outbox: Outbox
  readonly forwarder: Forwarder
}

/** Sends sessions on to a broker and a database as the settings say; nothing is sent anywhere unless they do. */
export class ForwardDesk {
  readonly #station: Station
  readonly #store: StationStore
  readonly #ways = new Map<string, Way>()
  readonly #listening: Disposable
  #key = ''
  #following: string | undefined
  /** Count of the changes to the list of sessions that was looked at last. */
  #seen = -1
  #turn: Promise<void> = Promise.resolve()

  constructor(station: Station, store: StationStore) {
    this.#station = station
    this.#store = store
    this.#listening = station.onDidChange.on(() => this.#look())
    this.#look()
  }

  /** How far each target has got, by its kind. */
  get states(): ({ kind: 'mqtt' | 'postgres' } & ForwardState)[] {
    return [...this.#ways].map(
      ([
        name,
        {
          forwarder: { state },
        },
      ]) => ({
        kind: name.startsWith('mqtt ') ? 'mqtt' : 'postgres',
        ...state,
      }),
    )
  }

  /** Takes up changed settings, follows a session that has begun, and wakes what waits for readings. */
  #look(): void {
    const forward = this.#store.settings()?.forward
    const key = JSON.stringify(forward ?? null)
    if (key !== this.#key) {
      this.#key = key
      this.#turn = this.#turn.then(() => this.#arrange(forward))
    }
    const running = this.#station.session?.info.id
    if (running !== undefined && running !== this.#following) {
      this.#following = running
      for (const { forwarder } of this.#ways.values())
        forwarder.follow(running, this.#store.sessionPath(running), true)
    }
    const { sessions } = this.#station.versions
    if (sessions !== this.#seen) {
      this.#seen = sessions
      for (const way of this.#ways.values()) this.#followAll(way)
    }
    for (const { forwarder } of this.#ways.values()) forwarder.wake()
  }

  async #arrange(forward: Settings['forward'] | undefined): Promise<void> {
    await this.#closeAll()
    const targets: [string, ForwardTarget][] = []
    // Loaded by those who send something on: each keeps megabytes in the process that measures.
    if (forward?.mqtt) {
      const { MqttTarget } = await import('../store/forward/mqtt.ts')
      targets.push([
        `mqtt ${forward.mqtt.url} ${forward.mqtt.topic}`,
        new MqttTarget(forward.mqtt, this.#store.station, process.env.STILLPOINT_MQTT_PASSWORD),
      ])
    }
    if (forward?.postgres) {
      const { PostgresTarget } = await import('../store/forward/postgres.ts')
      targets.push([`postgres ${forward.postgres.url}`, new PostgresTarget(forward.postgres.url)])
    }
    for (const [name, target] of targets) {
      const outbox = new Outbox(this.#store, name)
      const forwarder = new Forwarder({ outbox, target, clock: new RealClock() })
      this.#ways.set(name, { outbox, forwarder })
      this.#followAll({ outbox, forwarder })
    }
  }

  /** Every session that is not known to be over there whole: the newest come first. */
  #followAll({ outbox, forwarder }: Way): void {
    for (const id of outbox.unconfirmed()) {
      const isRunning = id === this.#station.session?.info.id
      forwarder.follow(id, this.#store.sessionPath(id), isRunning)
    }
  }

  async #closeAll(): Promise<void> {
    await Promise.all([...this.#ways.values()].map(({ forwarder }) => forwarder.close()))
    this.#ways.clear()
  }

  async close(): Promise<void> {
    this.#listening.dispose()
    await this.#turn
    await this.#closeAll()
  }
}
