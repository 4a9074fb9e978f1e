import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { cpSync, existsSync } from 'node:fs'
import { join } from 'node:path'
import { connect, type MqttClient } from 'mqtt'
import pg from 'pg'
import { describe, expect, it, onTestFinished } from 'vitest'
import { RealClock } from '../../main/station/clocks/real.ts'
import { Forwarder } from '../../main/store/forward/forwarder.ts'
import { Outbox } from '../../main/store/forward/outbox.ts'
import { PostgresTarget } from '../../main/store/forward/postgres.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { exampleClock, exampleEvent, examplePoint, scan, temporaryFolder } from './example.ts'
import { mosquitto, mosquittoMissing, postgres, postgresMissing } from './forward-servers.ts'
import { beginExample, FeedingStation, MINUTE } from './forward-station.ts'

const STATIONS = 20
const READINGS = 120

async function until(what: () => boolean | Promise<boolean>, seconds = 60): Promise<void> {
  const end = performance.now() + seconds * 1000
  while (performance.now() < end) {
    if (await what()) return
    await new Promise((resolve) => setTimeout(resolve, 50))
  }
  throw new Error(`it did not come about within ${seconds} s`)
}

/** Whether it has said something of its first session for good. */
const hasEnded = ({ state: { state, words } }: Forwarder) =>
  ['up-to-date', 'refused'].includes(state) && words !== 'Nothing to send yet.'

const sleep = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms))

async function archive() {
  const server = await postgres()
  onTestFinished(() => server.remove())
  await server.start()
  const query = async (sql: string): Promise<Record<string, unknown>[]> => {
    const client = new pg.Client({ connectionString: server.url })
    await client.connect()
    try {
      return (await client.query(sql)).rows
    } finally {
      await client.end()
    }
  }
  await until(() =>
    query('SELECT 1').then(
      () => true,
      () => false,
    ),
  )
  return { server, query }
}

/** A station with one session that has ended, ready to send it. */
function endedStation(readings: number, folder = join(temporaryFolder(), 'data')) {
  const store = openStationStore(folder, { clock: exampleClock() })
  onTestFinished(() => store.close())
  const { file, id } = beginExample(store)
  file.commit({
    readings: Array.from({ length: readings }, (_, i) => scan(i, 1)).flat(),
    events: [exampleEvent('begun')],
    points: [examplePoint],
  })
  file.finish('complete', 'done')
  store.registerSession(file)
  const send = async (url: string): Promise<Forwarder> => {
    const forwarder = new Forwarder({
      outbox: new Outbox(store, 'archive'),
      target: new PostgresTarget(url),
      clock: new RealClock(),
    })
    forwarder.follow(id, store.sessionPath(id))
    await until(() => hasEnded(forwarder))
    return forwarder
  }
  return { store, file, id, folder, send }
}

/** Tables as they were made before stations had an identity. */
const FORM_1 = `
CREATE TABLE stillpoint_session (
  session text PRIMARY KEY, name text NOT NULL, operator text NOT NULL, kind text NOT NULL, started timestamptz NOT NULL,
  ended timestamptz, ending text, info jsonb NOT NULL);
CREATE TABLE stillpoint_reading (
  session text NOT NULL, seq bigint NOT NULL, utc timestamptz NOT NULL, session_time_us bigint NOT NULL,
  channel text NOT NULL, raw text NOT NULL, value numeric, unit text NOT NULL, measuring_current_ma double precision,
  marks text[] NOT NULL, PRIMARY KEY (session, seq));
CREATE TABLE stillpoint_event (
  session text NOT NULL, n bigint NOT NULL, utc timestamptz NOT NULL, kind text NOT NULL, who text NOT NULL,
  subject text, words text NOT NULL, data jsonb NOT NULL, PRIMARY KEY (session, n));
CREATE TABLE stillpoint_point (
  session text NOT NULL, n bigint NOT NULL, point jsonb NOT NULL, PRIMARY KEY (session, n));`

describe('an archive of several stations', () => {
  it('is brought up from the form without stations: rows that are ours are taken over, the others stay', async (context) => {
    if (postgresMissing) return context.skip(postgresMissing)
    const { server, query } = await archive()
    const { store, file, id, send } = endedStation(5)
    await query(FORM_1)
    const started = `timestamptz 'epoch' + ${MINUTE} * interval '1 microsecond'`
    await query(
      `INSERT INTO stillpoint_session VALUES ('${id}', 'n', 'o', 'recording', ${started}, NULL, NULL, '{}')`,
    )
    // Our first two, and a third that another station had put under the same key.
    for (const r of file.since(0, 3)) {
      const raw = r.seq === 3 ? 'of another' : r.raw
      await query(
        `INSERT INTO stillpoint_reading VALUES ('${id}', ${r.seq},
         timestamptz 'epoch' + ${r.utcUs}::bigint * interval '1 microsecond', ${r.monoUs}, '${r.channel}', '${raw}',
         ${r.value}, '${r.unit}', ${r.currentMa}, '{}')`,
      )
    }
    // As the station before was told that all of it had been sent.
    const outbox = new Outbox(store, 'archive')
    outbox.mark(id, { seq: 5, event: 2, point: 1 })
    expect(outbox.unconfirmed()).toEqual([id])
    const forwarder = await send(server.url)
    expect(forwarder.state).toMatchObject({
      state: 'up-to-date',
      words: expect.stringContaining('counted it'),
    })
    await forwarder.close()
    expect(outbox.unconfirmed()).toEqual([])
    const rows = await query('SELECT station, seq::int, raw FROM stillpoint_reading ORDER BY station, seq')
    const nobody = '00000000-0000-0000-0000-000000000000'
    expect(rows.filter((r) => r.station === nobody)).toEqual([{ station: nobody, seq: 3, raw: 'of another' }])
    expect(rows.filter((r) => r.station === store.station).map((r) => r.raw)).toEqual(
      file.since(0, 9).map((r) => r.raw),
    )
    expect(await query('SELECT form FROM stillpoint_archive')).toEqual([{ form: 2 }])
  }, 90_000)

  it('tells a station of a copied folder that the archive has something else, and writes nothing over', async (context) => {
    if (postgresMissing) return context.skip(postgresMissing)
    const { server, query } = await archive()
    const one = endedStation(5)
    one.store.close()
    const folder = join(temporaryFolder(), 'copy')
    cpSync(one.folder, folder, { recursive: true })
    const first = openStationStore(one.folder, { clock: exampleClock() })
    const second = openStationStore(folder, { clock: exampleClock() })
    onTestFinished(() => second.close())
    expect(second.station).toBe(first.station)
    const begin = (store: typeof first, offset: number) => {
      const { file, id } = beginExample(store)
      file.commit({ readings: [...scan(offset, 3)] })
      file.finish('complete', 'done')
      file.close()
      return id
    }
    const id = begin(first, 0)
    expect(begin(second, 7)).toBe(id)
    const send = async (store: typeof first) => {
      const forwarder = new Forwarder({
        outbox: new Outbox(store, 'archive'),
        target: new PostgresTarget(server.url),
        clock: new RealClock(),
      })
      forwarder.follow(id, store.sessionPath(id))
      await until(() => hasEnded(forwarder))
      await forwarder.close()
      return forwarder.state
    }
    expect((await send(first)).state).toBe('up-to-date')
    const kept = await query('SELECT * FROM stillpoint_reading ORDER BY seq')
    expect(await send(second)).toMatchObject({
      state: 'refused',
      words: expect.stringMatching(
        /reading 1 in the archive is another than ours.*Nothing there was written over/,
      ),
    })
    expect(await query('SELECT * FROM stillpoint_reading ORDER BY seq')).toEqual(kept)
    first.close()
  }, 90_000)

  it('says that all was sent only when the archive has counted it, and sends again what is gone there', async (context) => {
    if (postgresMissing) return context.skip(postgresMissing)
    const { server, query } = await archive()
    const { store, file, id, send } = endedStation(5)
    await (await send(server.url)).close()
    await query('DELETE FROM stillpoint_reading WHERE seq = 2')
    new Outbox(store, 'archive').mark(id, { seq: 5, event: 2, point: 1 })
    await (await send(server.url)).close()
    const rows = await query('SELECT raw FROM stillpoint_reading ORDER BY seq')
    expect(rows.map((r) => r.raw)).toEqual(file.since(0, 9).map((r) => r.raw))
    // More than we have cannot be ours: that is told, not taken for good.
    await query(`INSERT INTO stillpoint_event SELECT session, 3, utc, kind, who, subject, words, data, station
      FROM stillpoint_event WHERE n = 1`)
    file.annotate('A. Person', 'a remark')
    new Outbox(store, 'archive').mark(id, { seq: 5, event: 2, point: 1 })
    const forwarder = await send(server.url)
    await forwarder.close()
    expect(forwarder.state).toMatchObject({
      state: 'refused',
      words: expect.stringContaining('event 3 in the archive is another than ours'),
    })
  }, 90_000)

  it('refuses an archive of a newer form in words', async (context) => {
    if (postgresMissing) return context.skip(postgresMissing)
    const { server, query } = await archive()
    await query(
      'CREATE TABLE stillpoint_archive (one int, form int); INSERT INTO stillpoint_archive VALUES (1, 3)',
    )
    const target = new PostgresTarget(server.url)
    const part = { station: '', session: 'x', after: { seq: 0, event: 0, point: 0 } }
    await expect(target.count({ ...part, upTo: part.after })).rejects.toThrow(
      /archive has form 3, this station knows up to 2/,
    )
    await target.close()
  }, 90_000)
})

/** Collects the readings that a broker passes on, by station and number, over breaks of its own connection. */
class Listener {
  readonly #url: string
  subscribed = false
  readonly got = new Map<string, string>()
  readonly twice: string[] = []
  #client: MqttClient | undefined
  #ended = false

  constructor(url: string) {
    this.#url = url
    void this.#stay()
  }

  async #stay(): Promise<void> {
    while (!this.#ended) {
      // Listened to from the start: what waited at the broker comes in the same breath as its welcome.
      const client = connect(this.#url, {
        clientId: 'listener',
        clean: false,
        reconnectPeriod: 0,
        connectTimeout: 2000,
      })
      this.#client = client
      client.on('error', () => undefined)
      client.on('message', (topic, payload) => this.#take(topic, payload.toString()))
      const closed = new Promise<void>((resolve) => client.once('close', resolve))
      try {
        await new Promise<void>((resolve, reject) => {
          client.once('connect', () => resolve())
          client.once('close', () => reject(new Error('not reached')))
        })
        await client.subscribeAsync('lab/+/+/reading/+', { qos: 1 })
        this.subscribed = true
        await closed
      } catch {
        client.end(true)
        await sleep(100)
      }
    }
  }

  #take(topic: string, payload: string): void {
    const { station, session, seq, raw } = JSON.parse(payload) as Record<string, string>
    expect(topic.startsWith(`lab/${station}/${session}/reading/`)).toBe(true)
    const key = `${station} ${session} ${seq}`
    const known = this.got.get(key)
    if (known !== undefined && known !== raw) this.twice.push(key)
    this.got.set(key, raw!)
  }

  async end(): Promise<void> {
    this.#ended = true
    await this.#client?.endAsync(true)
  }
}

describe('20 stations started in the same minute', () => {
  it('have every reading once in one archive and at one broker, through stops, freezes and a killed station', async (context) => {
    if (postgresMissing || mosquittoMissing) return context.skip(postgresMissing ?? mosquittoMissing!)
    const { server, query } = await archive()
    const broker = await mosquitto(true)
    onTestFinished(() => broker.remove())
    await broker.start()
    const mqttUrl = `mqtt://127.0.0.1:${broker.port}`
    const listener = new Listener(mqttUrl)
    onTestFinished(() => listener.end())
    await until(() => listener.subscribed)
    const folders = Array.from({ length: STATIONS }, () => join(temporaryFolder(), 'data'))
    const [killedFolder, ...others] = folders as [string, ...string[]]
    const urls = { postgres: server.url, mqtt: mqttUrl }
    const stations = others.map((folder) => new FeedingStation(folder, urls, READINGS))
    onTestFinished(async () => {
      for (const station of stations) await station.close()
    })
    let child = spawnStation(killedFolder, urls)
    for (const station of stations) station.start()

    const begun = async () =>
      (await query('SELECT DISTINCT station FROM stillpoint_reading')).length === STATIONS
    await until(() => begun().catch(() => false))
    server.freeze()
    await sleep(1000)
    child.kill('SIGKILL')
    server.thaw()
    broker.freeze()
    await sleep(1000)
    broker.thaw()
    await server.stop()
    child = spawnStation(killedFolder, urls)
    const ended = once(child, 'exit')
    await broker.stop()
    await sleep(500)
    await server.start()
    await broker.start()
    await until(() => stations.every((s) => s.allSent))
    expect((await ended)[0]).toBe(0)

    const counted = await query(
      'SELECT station, session, count(*)::int AS n, min(seq)::int AS low, max(seq)::int AS high FROM stillpoint_reading GROUP BY station, session',
    )
    expect(new Set(counted.map((c) => c.session)).size).toBe(1)
    expect(counted).toHaveLength(STATIONS)
    for (const { n, low, high } of counted) expect([n, low, high]).toEqual([READINGS, 1, READINGS])
    const sum = await query(
      'SELECT count(*)::int AS n, count(DISTINCT raw)::int AS raws FROM stillpoint_reading',
    )
    expect(sum).toEqual([{ n: STATIONS * READINGS, raws: STATIONS * READINGS }])
    await until(() => listener.got.size === STATIONS * READINGS, 20)
    expect(listener.twice).toEqual([])
    expect(new Set(listener.got.values()).size).toBe(STATIONS * READINGS)
    for (const { words } of stations.flatMap((s) => s.states))
      expect(words).toMatch(/counted it|acknowledged each message/)
  }, 150_000)
})

function spawnStation(folder: string, urls: { postgres: string; mqtt: string }): ChildProcess {
  const script = join(import.meta.dirname, 'forward-station.ts')
  expect(existsSync(script)).toBe(true)
  const child = spawn(process.execPath, [script, folder, JSON.stringify(urls), String(READINGS)], {
    stdio: ['ignore', 'inherit', 'inherit'],
  })
  onTestFinished(() => void child.kill('SIGKILL'))
  return child
}
