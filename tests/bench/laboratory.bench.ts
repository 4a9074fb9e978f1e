import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import pg from 'pg'
import type { BenchState } from '../../app/records/bench-state.ts'
import { Thermometer } from '../../app/records/register.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { Exchange } from '../../main/store/laboratory/exchange.ts'
import { listSessions } from '../../main/store/session-list.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import { postgres, postgresMissing } from '../store/forward-servers.ts'
import { beginExample } from '../store/forward-station.ts'
import type { Row } from './row.ts'

const STATIONS = 20
const REST_MS = 45_000
const CHANGES = 60
const STATES_MS = 20_000
const SESSIONS = 20_000
/** Kernel ticks of process times, Hz: sysconf(_SC_CLK_TCK), 100 on every Linux that Node runs on (proc(5)). */
const TICKS = 100

interface Station {
  readonly store: StationStore
  readonly exchange: Exchange
  /** Moments at which something of others had come in, ms. */
  onTake: (what: string) => void
  state: BenchState
}

const sleep = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms))
const stateOf = (bathC: number): BenchState => ({
  ...{ words: 'Setpoint 2 of 5, 100 degC: measuring', phase: 'measuring', water: 'flat', session: 'A night' },
  ...{ responsible: 'A. Person', setpointC: 100, bathC, expectedEndUtcUs: null, alarms: [], moreAlarms: 0 },
  inUse: ['sprt-1', 'rs-1'],
})

async function until(what: () => boolean, seconds = 60): Promise<void> {
  const end = performance.now() + seconds * 1000
  while (!what()) {
    if (performance.now() > end) throw new Error(`it did not come about within ${seconds} s`)
    await sleep(5)
  }
}

/** Twenty stations with the real exchange, in this process, on a real PostgreSQL of this machine. */
export async function bench(): Promise<Row[]> {
  if (postgresMissing) throw new Error(postgresMissing)
  const place = mkdtempSync(join(tmpdir(), 'stillpoint-laboratory-'))
  const server = await postgres()
  await server.start()
  const ask = new pg.Client({ connectionString: server.url })
  await sleep(500)
  await ask.connect()
  const stations = Array.from({ length: STATIONS }, (_, i) =>
    begin(join(place, `s${i}`), `Bench ${i}`, server.url),
  )
  try {
    await until(() => stations.every(({ exchange }) => exchange.benches.length === STATIONS - 1))
    const { rows } = await ask.query<{ pid: number }>('SELECT pg_backend_pid() AS pid')
    const postmaster = parentOf(rows[0]!.pid)
    await sleep(5_000)
    const rest = await load(postmaster, () => sleep(REST_MS))
    const changes = await timeChanges(stations)
    const told: number[] = []
    const busy = await load(postmaster, async () => {
      const end = performance.now() + STATES_MS
      while (performance.now() < end) told.push(...(await timeState(stations)))
    })
    // Each station is a computer of its own: here one alone takes the long list over.
    await Promise.all(stations.slice(1).map(({ exchange }) => exchange.close()))
    const listed = await timeList(stations[0]!, ask)
    return [
      row('database at rest, twenty stations', rest, '% of a core', '< 5', rest < 5),
      row('database, every bench telling each second', busy, '% of a core'),
      row('a change seen everywhere, p99', p99(changes), 'ms', '< 2000', p99(changes) < 2000),
      row('a change seen everywhere, median', at(changes, 0.5), 'ms'),
      row('a state seen everywhere, p99', p99(told), 'ms', '< 2000', p99(told) < 2000),
      row(`${SESSIONS} sessions taken over`, listed.takenS, 's'),
      row(`${SESSIONS} sessions, first page`, listed.pageMs, 'ms', '< 300', listed.pageMs < 300),
      row(`${SESSIONS} sessions, searched`, listed.searchMs, 'ms', '< 300', listed.searchMs < 300),
      row(`${SESSIONS} sessions, by size`, listed.sortMs, 'ms', '< 300', listed.sortMs < 300),
    ]
  } finally {
    await Promise.all(stations.map(({ exchange }) => exchange.close()))
    for (const { store } of stations) store.close()
    await ask.end()
    await server.remove()
    rmSync(place, { recursive: true, force: true })
  }
}

function begin(folder: string, name: string, url: string): Station {
  const clock = new RealClock()
  const store = openStationStore(folder, { clock })
  const station: Station = {
    store,
    exchange: new Exchange({
      ...{ store, url, clock, name: () => name, pattern: () => 'LAB-{year}-{number:4}' },
      bench: () => station.state,
      onDidTake: (what) => station.onTake(what),
    }),
    onTake: () => undefined,
    state: stateOf(100),
  }
  return station
}

/** From a save at one station until every other has it, ms: one figure for each of the others. */
async function timeChanges(stations: readonly Station[]): Promise<number[]> {
  const taken: number[] = []
  for (let n = 0; n < CHANGES; n++) {
    const from = stations[n % stations.length]!
    const id = `t${n % 5}`
    const note = `change ${n}`
    const began = performance.now()
    let waiting = stations.length - 1
    for (const station of stations)
      station.onTake = (what) => {
        if (
          what !== 'records' ||
          station === from ||
          station.store.records.one('thermometer', id)?.note !== note
        )
          return
        taken.push(performance.now() - began)
        waiting -= 1
        station.onTake = () => undefined
      }
    const entry = Thermometer.parse({ id, name: id, kind: 'sprt', lowC: -40, highC: 660, note })
    from.store.records.save('thermometer', id, entry, { who: 'A. Person', why: 'bench' })
    from.exchange.wake()
    await until(() => waiting === 0)
  }
  return taken
}

/** All benches stand otherwise at once: until every station has heard of every other, ms. */
async function timeState(stations: readonly Station[]): Promise<number[]> {
  const bathC = stations[0]!.state.bathC! + 0.01
  const began = performance.now()
  const heard: number[] = []
  const open = new Set(stations)
  for (const station of stations) station.state = stateOf(bathC)
  for (const { exchange } of stations) exchange.stir()
  await until(() => {
    for (const station of open)
      if (station.exchange.benches.every(({ state }) => state?.bathC === bathC)) {
        open.delete(station)
        heard.push(performance.now() - began)
      }
    for (const { exchange } of stations) exchange.stir()
    return open.size === 0
  })
  return heard
}

/** Ten years of twenty benches, put into the database as they would have told it, and taken over by one station. */
async function timeList(station: Station, ask: pg.Client) {
  const { file, id } = beginExample(station.store)
  file.finish('complete', 'done')
  station.store.registerSession(file)
  file.close()
  station.exchange.wake()
  const count = async () =>
    Number((await ask.query('SELECT count(*) AS n FROM stillpoint_laboratory.session')).rows[0]!.n)
  while ((await count()) === 0) await sleep(50)
  await ask.query(
    `INSERT INTO stillpoint_laboratory.session (station, session, started_utc_us, row, sketch, words)
     SELECT gen_random_uuid(), 'far-' || i, started_utc_us - i * 60000000::bigint,
       replace(row, '${id}', 'far-' || i), decode(repeat('0000c842', 200), 'hex'),
       'far-' || i || chr(10) || 'customer-' || (i % 97) || chr(10) || words
     FROM stillpoint_laboratory.session, generate_series(1, ${SESSIONS}) AS i`,
  )
  const began = performance.now()
  await ask.query(`NOTIFY stillpoint_laboratory, 'session'`)
  const { database } = station.store
  await until(() => listSessions(database, { most: 1 }).total > SESSIONS, 120)
  const takenS = (performance.now() - began) / 1000
  const time = (query: Parameters<typeof listSessions>[1]) => {
    const times = Array.from({ length: 5 }, () => {
      const start = performance.now()
      listSessions(database, query)
      return performance.now() - start
    })
    return Math.max(...times)
  }
  return {
    takenS,
    pageMs: time({ most: 50 }),
    searchMs: time({ search: 'customer-42 recording', most: 50 }),
    sortMs: time({ sort: 'bytes', most: 50 }),
  }
}

const row = (name: string, ours: number, unit: string, goal = '', met: boolean | null = null): Row => ({
  ...{ name, ours, other: Number.NaN, unit, ratio: Number.NaN, goal, met },
})

const at = (values: readonly number[], part: number) =>
  values.toSorted((a, b) => a - b)[Math.min(values.length - 1, Math.floor(part * values.length))]!
const p99 = (values: readonly number[]) => at(values, 0.99)

const statOf = (pid: number | string) => readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]!.split(' ')
const parentOf = (pid: number) => Number(statOf(pid)[1])

/** Processor time of a server and of all its processes, s. */
function spent(postmaster: number): number {
  let ticks = 0
  for (const pid of readdirSync('/proc').filter((name) => /^\d+$/.test(name))) {
    try {
      const stat = statOf(pid)
      if (Number(pid) === postmaster || Number(stat[1]) === postmaster)
        ticks += Number(stat[11]) + Number(stat[12])
    } catch {
      // It ended meanwhile.
    }
  }
  return ticks / TICKS
}

/** What a server takes of a core while something is done, %. */
async function load(postmaster: number, work: () => Promise<unknown>): Promise<number> {
  const before = spent(postmaster)
  const began = performance.now()
  await work()
  return (100 * (spent(postmaster) - before)) / ((performance.now() - began) / 1000)
}
