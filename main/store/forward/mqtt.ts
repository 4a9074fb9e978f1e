import { connectAsync, type MqttClient } from 'mqtt'
import { isoUtc } from '../../../app/base/clock.ts'
import type { ForwardTarget, Parcel } from './target.ts'

/** Publications under way at once. */
const AT_ONCE = 200

/** A level of a topic: the signs that MQTT gives a meaning are taken out of it. */
const level = (name: string) => name.replaceAll(/[/+#\0]/g, '_')

/**
 * Live values to an MQTT broker, quality of service 1:
 *
 *   TOPIC/station                      online or offline (the broker says offline when the station is gone); retained
 *   TOPIC/SESSION/reading/CHANNEL      each reading as JSON; the last one is retained
 *   TOPIC/SESSION/event, .../point     each event and point as JSON
 *
 * After a break a message may come twice; `seq` (or `n`) says that it is the same one.
 */
export class MqttTarget implements ForwardTarget {
  readonly #url: string
  readonly #topic: string
  readonly #password: string | undefined
  #client: MqttClient | undefined

  /** `password` goes with the user named in the address, where the broker asks for one. */
  constructor({ url, topic }: { url: string; topic: string }, password?: string) {
    this.#url = url
    this.#password = password
    this.#topic = topic.split('/').map(level).join('/')
  }

  async send({ session, readings, events, points }: Parcel): Promise<void> {
    const client = await this.#connect()
    const base = `${this.#topic}/${level(session.id)}`
    const messages: { topic: string; payload: unknown; retain: boolean }[] = [
      ...readings.map((r) => ({
        topic: `${base}/reading/${level(r.channel)}`,
        payload: { session: session.id, ...r, utc: isoUtc(r.utcUs) },
        retain: true,
      })),
      ...events.map((e) => ({
        topic: `${base}/event`,
        payload: { session: session.id, ...e },
        retain: false,
      })),
      ...points.map(({ n, point }) => ({
        topic: `${base}/point`,
        payload: { session: session.id, n, ...point },
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

  async close(): Promise<void> {
    const client = this.#client
    this.#client = undefined
    if (!client) return
    if (client.connected)
      await client.publishAsync(`${this.#topic}/station`, 'offline', { qos: 1, retain: true })
    await client.endAsync()
  }

  async #connect(): Promise<MqttClient> {
    if (this.#client) return this.#client
    const topic = `${this.#topic}/station`
    const client = await connectAsync(
      this.#url,
      {
        connectTimeout: 10_000,
        // One attempt for one parcel: the outbox decides when to try again, and no queue of its own repeats things.
        reconnectPeriod: 0,
        queueQoSZero: false,
        ...(this.#password !== undefined && { password: this.#password }),
        clean: true,
        will: { topic, payload: Buffer.from('offline'), qos: 1, retain: true },
      },
      false,
    )
    client.on('error', () => undefined)
    client.on('close', () => {
      if (this.#client === client) this.#client = undefined
      // Publications under way get no answer any more: ending the client refuses them, and the parcel comes again.
      client.end(true)
    })
    await client.publishAsync(topic, 'online', { qos: 1, retain: true })
    this.#client = client
    return client
  }
}
