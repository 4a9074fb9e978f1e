import { connect, type MqttClient } from 'mqtt'
import { isoUtc } from '../../../app/base/clock.ts'
import type { ForwardTarget, Parcel } from './target.ts'

/** Publications under way at once. */
const AT_ONCE = 200

/** A level of a topic: the signs that MQTT gives a meaning are taken out of it. */
const level = (name: string) => name.replaceAll(/[/+#\0]/g, '_')

/**
 * Live values to an MQTT broker, quality of service 1:
 *
 *   TOPIC/STATION/station                     online or offline (the broker says offline when it is gone); retained
 *   TOPIC/STATION/SESSION/reading/CHANNEL     each reading as JSON; the last one is retained
 *   TOPIC/STATION/SESSION/event, .../point    each event and point as JSON
 *
 * STATION is the station's UUID. After a break a message may come twice; `seq` (or `n`) says that it is the same one.
 */
export class MqttTarget implements ForwardTarget {
  readonly #url: string
  readonly #topic: string
  readonly #password: string | undefined
  readonly #own: string
  #client: MqttClient | undefined
  #connecting: MqttClient | undefined

  /**
   * `station` is the UUID of the one that sends. `password` goes with the user named in the address, where the broker
   * asks for one.
   */
  constructor({ url, topic }: { url: string; topic: string }, station: string, password?: string) {
    this.#url = url
    this.#password = password
    this.#topic = topic.split('/').map(level).join('/')
    this.#own = `${this.#topic}/${station}/station`
  }

  async send({ station, session, readings, events, points }: Parcel): Promise<void> {
    const client = await this.#connect()
    const base = `${this.#topic}/${station}/${level(session.id)}`
    const messages: { topic: string; payload: unknown; retain: boolean }[] = [
      ...readings.map((r) => ({
        topic: `${base}/reading/${level(r.channel)}`,
        payload: { station, session: session.id, ...r, utc: isoUtc(r.utcUs) },
        retain: true,
      })),
      ...events.map((e) => ({
        topic: `${base}/event`,
        payload: { station, session: session.id, ...e },
        retain: false,
      })),
      ...points.map(({ n, point }) => ({
        topic: `${base}/point`,
        payload: { station, session: session.id, n, ...point },
        retain: false,
      })),
    ]
    try {
      for (let from = 0; from < messages.length; from += AT_ONCE)
        await Promise.all(
          messages
            .slice(from, from + AT_ONCE)
            .map(({ topic, payload, retain }) =>
              client.publishAsync(topic, JSON.stringify(payload), { qos: 1, retain }),
            ),
        )
    } catch (fault) {
      this.#client = undefined
      await client.endAsync(true)
      throw fault
    }
  }

  /** A broker keeps nothing to be counted; it has acknowledged every message of what was sent. */
  async count(): Promise<undefined> {}

  async close(): Promise<void> {
    const client = this.#client
    this.#client = undefined
    if (!client) return
    try {
      if (client.connected) await client.publishAsync(this.#own, 'offline', { qos: 1, retain: true })
    } catch {
      // The broker went away meanwhile and says it by itself.
    }
    await client.endAsync(true)
  }

  abandon(): void {
    const clients = [this.#client, this.#connecting]
    this.#client = undefined
    this.#connecting = undefined
    for (const client of clients) {
      client?.stream.destroy()
      client?.end(true)
    }
  }

  async #connect(): Promise<MqttClient> {
    if (this.#client) return this.#client
    const client = connect(this.#url, {
      connectTimeout: 10_000,
      // One attempt for one parcel: the outbox decides when to try again, and no queue of its own repeats things.
      reconnectPeriod: 0,
      queueQoSZero: false,
      ...(this.#password !== undefined && { password: this.#password }),
      clean: true,
      will: { topic: this.#own, payload: Buffer.from('offline'), qos: 1, retain: true },
    })
    this.#connecting = client
    await untilConnected(client)
    client.on('close', () => {
      if (this.#client === client) this.#client = undefined
      // Publications under way get no answer any more: ending the client refuses them, and the parcel comes again.
      client.end(true)
    })
    await client.publishAsync(this.#own, 'online', { qos: 1, retain: true })
    this.#client = client
    this.#connecting = undefined
    return client
  }
}

/** Rejects with the broker's or the network's fault, after which nothing of the client is left. */
function untilConnected(client: MqttClient): Promise<void> {
  return new Promise((resolve, reject) => {
    const fail = (fault: Error) => {
      client.end(true)
      reject(fault)
    }
    client.on('error', fail)
    client.once('close', () => fail(new Error('the broker closed the connection')))
    client.once('connect', () => resolve())
  })
}
