import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { connectAsync } from 'mqtt'
import pg from 'pg'
import { describe, expect, it, onTestFinished } from 'vitest'
import { RealClock } from '../../main/station/clocks/real.ts'
import { Forwarder } from '../../main/store/forward/forwarder.ts'
import { MqttTarget } from '../../main/store/forward/mqtt.ts'
import { Outbox } from '../../main/store/forward/outbox.ts'
import { PostgresTarget } from '../../main/store/forward/postgres.ts'
import type { ForwardTarget, Parcel, Part, Reach } from '../../main/store/forward/target.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import {
  exampleClock,
  exampleEvent,
  exampleInfo,
  examplePoint,
  exampleSetup,
  scan,
  temporaryFolder,
} from './example.ts'
import { mosquitto, mosquittoMissing, postgres, postgresMissing } from './forward-servers.ts'

/** As the sessions of before get one: from the hash of their setup. */
const STATION = '17a19658-9860-8029-a64e-76305608b545'

async function until(what: () => boolean | Promise<boolean>): Promise<void> {
  for (let attempt = 0; attempt < 400; attempt++) {
    if (await what()) return
    await new Promise((resolve) => setTimeout(resolve, 50))
  }
  throw new Error('it did not come about within 20 s')
}

function station() {
  const store = openStationStore(join(temporaryFolder(), 'data'), { clock: exampleClock() })
  onTestFinished(() => store.close())
  const path = store.sessionPath('example')
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
  onTestFinished(() => file.close())
  const start = (target: ForwardTarget, name = 'test') => {
    const forwarder = new Forwarder({ outbox: new Outbox(store, name), target, clock: new RealClock() })
    forwarder.follow('example', path)
    return forwarder
  }
  return { store, file, start }
}

/** Keeps what comes by its key, and may be told to break before or after it has taken a parcel. */
class MemoryTarget implements ForwardTarget {
  readonly seqs: number[] = []
  readonly events: number[] = []
  readonly points: number[] = []
  breakNext: 'before' | 'after' | undefined

  async send({ readings, events, points }: Parcel): Promise<void> {
    const breaking = this.breakNext
    this.breakNext = undefined
    if (breaking === 'before') throw new Error('away')
    this.seqs.push(...readings.map(({ seq }) => seq))
    this.events.push(...events.map(({ n }) => n))
    this.points.push(...points.map(({ n }) => n))
    if (breaking === 'after') throw new Error('gone before it could answer')
  }

  async count({ after, upTo }: Part): Promise<Reach> {
    const within = (numbers: readonly number[], from: number, to: number) =>
      new Set(numbers.filter((n) => n > from && n <= to)).size
    return {
      seq: within(this.seqs, after.seq, upTo.seq),
      event: within(this.events, after.event, upTo.event),
      point: within(this.points, after.point, upTo.point),
    }
  }

  async close(): Promise<void> {}
  abandon(): void {}
}

describe('Forwarder', () => {
  it('sends what is committed, in order and once, and goes on where it was left', async () => {
    const { file, start } = station()
    const target = new MemoryTarget()
    file.commit({
      readings: Array.from({ length: 1200 }, (_, i) => scan(i, 2)).flat(),
      points: [examplePoint],
    })
    const first = start(target)
    await until(() => first.state.state === 'up-to-date' && target.seqs.length === 2400)
    await first.close()
    file.commit({ readings: scan(1200, 2), events: [exampleEvent('x')] })
    const second = start(target)
    await until(() => target.seqs.length === 2402)
    file.commit({ readings: scan(1201, 2), points: [examplePoint] })
    second.wake()
    await until(() => target.seqs.length === 2404 && second.state.state === 'up-to-date')
    expect(target.seqs).toEqual(Array.from({ length: 2404 }, (_, i) => i + 1))
    expect([target.events, target.points]).toEqual([[1], [1, 2]])
    await second.close()
  })

  it('is not held up by a session that cannot be read', async () => {
    const { file, start, store } = station()
    const broken = store.sessionPath('broken')
    writeFileSync(broken, 'not a session at all, but long enough to be looked at')
    const target = new MemoryTarget()
    const forwarder = start(target)
    forwarder.follow('broken', broken)
    file.commit({ readings: scan(0, 3) })
    forwarder.wake()
    await until(() => target.seqs.length === 3 && forwarder.state.state === 'up-to-date')
    await until(() => /broken\.stillpoint is not a file of Stillpoint/.test(forwarder.state.words))
    await forwarder.close()
  })

  it('waits in words while the other side is away, and repeats only what was not answered', async () => {
    const { file, start } = station()
    const target = new MemoryTarget()
    target.breakNext = 'before'
    file.commit({ readings: scan(0, 3) })
    const forwarder = start(target)
    await until(() => forwarder.state.state === 'waiting')
    expect(forwarder.state).toMatchObject({
      behind: 3,
      words: expect.stringMatching(/\(away\); trying again in 0\.5 s\. Nothing is lost/),
    })
    await until(() => target.seqs.length === 3)
    target.breakNext = 'after'
    file.commit({ readings: scan(1, 3) })
    forwarder.wake()
    await until(() => target.seqs.length === 9)
    expect(target.seqs).toEqual([1, 2, 3, 4, 5, 6, 4, 5, 6])
    await forwarder.close()
  })
})

describe('PostgresTarget', () => {
  it('archives each reading exactly once, over a server that goes away and comes back', {
    timeout: 90_000,
  }, async (context) => {
    if (postgresMissing) return context.skip(postgresMissing)
    const server = await postgres()
    onTestFinished(() => server.remove())
    const { file, store, start } = station()
    file.commit({
      readings: [
        ...scan(0, 3),
        { ...scan(0, 1)[0]!, raw: 'a\0b', value: null, marks: ['garbled', 'late'], currentMa: null },
      ],
      events: [exampleEvent('begun')],
      points: [examplePoint],
    })
    // The server is not there yet.
    const forwarder = start(new PostgresTarget(server.url))
    await until(() => forwarder.state.state === 'waiting')
    await server.start()
    const query = async (sql: string) => {
      const client = new pg.Client({ connectionString: server.url })
      await client.connect()
      const { rows } = await client.query(sql)
      await client.end()
      return rows
    }
    await until(() => forwarder.state.state === 'up-to-date' && file.lastSeq === 4)
    let tick = 1
    for (let round = 0; round < 2; round++) {
      while (tick < 400 * (round + 1)) file.commit({ readings: scan(tick++, 3) })
      forwarder.wake()
      await new Promise((resolve) => setTimeout(resolve, 20))
      await server.stop()
      file.commit({ readings: scan(tick++, 3) })
      forwarder.wake()
      await server.start()
    }
    // What was sent and not marked, as by a station that was killed in between, comes again and changes nothing.
    new Outbox(store, 'test').mark('example', { seq: 2, event: 0, point: 0 })
    file.finish('complete', 'done')
    forwarder.wake()
    await until(
      () => forwarder.state.state === 'up-to-date' && new Outbox(store, 'test').sent('example').event === 2,
    )
    await forwarder.close()
    const readings = await query(
      'SELECT *, (extract(epoch FROM utc) * 1000000)::bigint AS utc_us FROM stillpoint_reading ORDER BY seq',
    )
    const stored = file.since(0, 1e6)
    expect(readings).toHaveLength(stored.length)
    for (const [i, row] of readings.entries()) {
      const reading = stored[i]!
      expect({
        ...row,
        seq: Number(row.seq),
        utc_us: Number(row.utc_us),
        session_time_us: Number(row.session_time_us),
        value: row.value === null ? null : Number(row.value),
      }).toMatchObject({
        session: 'example',
        seq: reading.seq,
        channel: reading.channel,
        utc_us: reading.utcUs,
        session_time_us: reading.monoUs,
        raw: reading.raw.replace('\0', '\u2400'),
        value: reading.value === null ? null : Number(reading.value),
        unit: reading.unit,
        marks: reading.marks,
        measuring_current_ma: reading.currentMa,
      })
    }
    expect(await query('SELECT n, words FROM stillpoint_event ORDER BY n')).toMatchObject([
      { n: '1', words: 'begun' },
      { n: '2' },
    ])
    expect(await query('SELECT n, point FROM stillpoint_point')).toEqual(
      [{ n: '1', point: examplePoint }].map((p) => ({ ...p })),
    )
    expect(await query('SELECT ending FROM stillpoint_session')).toEqual([{ ending: 'complete' }])
  })
})

describe('MqttTarget', () => {
  it('brings each reading to a listener, with the last one kept, over a broker that goes away and comes back', {
    timeout: 90_000,
  }, async (context) => {
    if (mosquittoMissing) return context.skip(mosquittoMissing)
    const broker = await mosquitto()
    onTestFinished(() => broker.remove())
    const url = `mqtt://127.0.0.1:${broker.port}`
    const { file, start } = station()
    file.commit({ readings: scan(0, 3), events: [exampleEvent('begun')], points: [examplePoint] })
    const forwarder = start(new MqttTarget({ url, topic: 'lab/quennick' }, STATION))
    await until(() => forwarder.state.state === 'waiting')
    await broker.start()
    const got = new Map<number, unknown>()
    const topics = new Set<string>()
    const listen = async () => {
      const listener = await connectAsync(url, { reconnectPeriod: 0 })
      listener.on('error', () => undefined)
      listener.on('message', (topic, payload) => {
        topics.add(topic)
        if (topic.includes('/reading/')) {
          const reading = JSON.parse(payload.toString()) as { seq: number }
          got.set(reading.seq, reading)
        }
      })
      await listener.subscribeAsync('lab/quennick/#', { qos: 1 })
      return listener
    }
    let listener = await listen()
    await until(() => forwarder.state.state === 'up-to-date' && got.size === 3)
    let tick = 1
    while (tick < 200) file.commit({ readings: scan(tick++, 3) })
    forwarder.wake()
    await until(() => got.size === 600)
    await broker.stop()
    await listener.endAsync(true)
    file.commit({ readings: scan(tick++, 3) })
    forwarder.wake()
    await until(() => forwarder.state.state === 'waiting')
    await broker.start()
    listener = await listen()
    await until(() => got.size === 603)
    expect([...got.keys()].sort((a, b) => a - b)).toEqual(file.since(0, 1e6).map(({ seq }) => seq))
    for (const reading of file.since(0, 1e6))
      expect(got.get(reading.seq)).toMatchObject({ session: 'example', ...reading })
    await listener.endAsync(true)
    expect([...topics]).toEqual(
      expect.arrayContaining([
        `lab/quennick/${STATION}/station`,
        `lab/quennick/${STATION}/example/event`,
        `lab/quennick/${STATION}/example/point`,
      ]),
    )
    await forwarder.close()

    // Someone who comes later is told the last values and that the station has gone.
    const kept = new Map<string, string>()
    const late = await connectAsync(url)
    late.on('message', (topic, payload) => void kept.set(topic, payload.toString()))
    await late.subscribeAsync('lab/quennick/#', { qos: 1 })
    await until(() => kept.size >= 4)
    await late.endAsync(true)
    expect(kept.get(`lab/quennick/${STATION}/station`)).toBe('offline')
    for (const channel of ['ch1', 'ch2', 'ch3'])
      expect(JSON.parse(kept.get(`lab/quennick/${STATION}/example/reading/${channel}`)!)).toMatchObject({
        channel,
        seq: expect.any(Number),
        raw: scan(tick - 1, 3).find((r) => r.channel === channel)!.raw,
      })
  })

  it('lets no name break out of its level of the topic', async (context) => {
    if (mosquittoMissing) return context.skip(mosquittoMissing)
    const broker = await mosquitto()
    onTestFinished(() => broker.remove())
    await broker.start()
    const url = `mqtt://127.0.0.1:${broker.port}`
    const topics: string[] = []
    const listener = await connectAsync(url)
    listener.on('message', (topic) => void topics.push(topic))
    await listener.subscribeAsync('#', { qos: 1 })
    const target = new MqttTarget({ url, topic: 'lab' }, STATION)
    await target.send({
      station: STATION,
      session: { ...exampleInfo, id: 'a/b' },
      readings: [{ seq: 1, ...scan(0, 1)[0]!, channel: '+/#' }],
      events: [],
      points: [],
    })
    await until(() => topics.length === 2)
    expect(topics.sort()).toEqual([`lab/${STATION}/a_b/reading/___`, `lab/${STATION}/station`])
    await target.close()
    await listener.endAsync(true)
  })
})
