/**
 * The record: ingest, overview, opening, size and the cost of the chain, each against the naive way in the same run.
 * STILLPOINT_BENCH_READINGS sets the size of the large session (24192000 is 96 channels, 70 h, 1 per second).
 */
import { execFileSync } from 'node:child_process'
import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import type { NewReading } from '../../app/records/reading.ts'
import { SessionSetup } from '../../app/records/session.ts'
import { BatchBytes, type ChainBytes } from '../../main/store/chain.ts'
import { overviewOfLog } from '../../main/store/overview.ts'
import {
  createSessionFile,
  type Overview,
  openSessionFile,
  type SessionFile,
} from '../../main/store/session-file.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { exampleClock, exampleInfo, exampleSetup, scan } from '../store/example-data.ts'
import type { Row } from './row.ts'

const CHANNELS = 96
const LARGE = Number(process.env.STILLPOINT_BENCH_READINGS ?? 4_800_000)
const SMALL = 1_000_000
const BUCKETS = 2000
/** One round of ingest: past the commits in which all channels seal their first chunk. */
const ROUND_COMMITS = 4400
const ROUNDS = 5

/** As it is for a bench of 96 channels with a thermometer on each. */
const SETUP = SessionSetup.parse({
  ...exampleSetup,
  bench: {
    ...exampleSetup.bench,
    channels: Array.from({ length: CHANNELS }, (_, i) => ({
      id: `ch${i + 1}`,
      name: `Channel ${i + 1}`,
      role: i === 0 ? 'reference' : 'under-test',
      instrument: 'bridge',
      route: [{ scanner: 'scanner', input: i + 1 }],
      thermometer: `t${i + 1}`,
    })),
  },
  register: {
    thermometers: Array.from({ length: CHANNELS }, (_, i) => ({
      id: `t${i + 1}`,
      name: `Thermometer ${i + 1}`,
      kind: 'prt',
      serial: `Q-${i + 1}`,
      lowC: -50,
      highC: 250,
      wtpHistory: [{ date: '2026-01-15', ohm: '100.01234', uOhm: 0.0001 }],
    })),
  },
})

type Writer = (readings: readonly NewReading[]) => void
interface Way {
  open(folder: string): { write: Writer; close(): void; path: string }
}

const median = (list: readonly number[]) => [...list].sort((a, b) => a - b)[list.length >> 1]!
const words = (n: number) => (n >= 1e6 ? `${+(n / 1e6).toPrecision(3)} M` : `${Math.round(n / 1000)} k`)

const session = (path: string, chain: ChainBytes = new BatchBytes()) =>
  createSessionFile(path, {
    info: exampleInfo,
    setup: SETUP,
    clock: exampleClock(),
    chain,
  })

/** What the chain costs is measured against this. */
const noChain: ChainBytes = {
  start() {},
  reading() {},
  row() {},
  digest: () => Buffer.alloc(32),
}

let files = 0
const ours = (chain?: () => ChainBytes): Way => ({
  open(folder) {
    const path = join(folder, `ours-${++files}.stillpoint`)
    const file = session(path, chain?.())
    return { path, write: (readings) => void file.commit({ readings }), close: () => file.close() }
  },
})

/** The log's table and nothing else: one prepared INSERT per reading, one transaction per commit, same pragmas. */
const bare = (indexed: boolean, perCommit: number): Way => ({
  open(folder) {
    const path = join(folder, `bare-${++files}.db`)
    const db = new Database(path)
    db.pragma('journal_mode = WAL')
    db.pragma('synchronous = FULL')
    db.exec(`CREATE TABLE log (seq INTEGER PRIMARY KEY, source INTEGER NOT NULL, utc_us INTEGER NOT NULL,
      mono_us INTEGER NOT NULL, raw TEXT NOT NULL, value TEXT, marks INTEGER NOT NULL) STRICT`)
    if (indexed) db.exec('CREATE INDEX by_channel ON log (source, utc_us)')
    const insert = db.prepare('INSERT INTO log VALUES (?, ?, ?, ?, ?, ?, ?)')
    const begin = db.prepare('BEGIN IMMEDIATE')
    const commit = db.prepare('COMMIT')
    const sources = new Map<string, number>()
    let seq = 0
    return {
      path,
      write(readings) {
        for (let from = 0; from < readings.length; from += perCommit) {
          begin.run()
          for (const r of readings.slice(from, from + perCommit)) {
            let source = sources.get(r.channel)
            if (source === undefined) {
              source = sources.size + 1
              sources.set(r.channel, source)
            }
            insert.run(++seq, source, r.utcUs, r.monoUs, r.raw, '=', 0)
          }
          commit.run()
        }
      },
      close: () => db.close(),
    }
  },
})

/** Readings per second of two ways that take turns commit by commit, so that both see the same machine. */
function ingest(folder: string, first: Way, second: Way, commits: number): [number, number] {
  const ways = [first.open(folder), second.open(folder)] as const
  const spent = [0, 0]
  for (let tick = 0; tick < commits; tick++) {
    const readings = scan(tick, CHANNELS)
    for (const i of tick % 2 === 0 ? [0, 1] : [1, 0]) {
      const start = performance.now()
      ways[i]!.write(readings)
      spent[i]! += performance.now() - start
    }
  }
  for (const way of ways) {
    way.close()
    rmSync(way.path)
  }
  return [(1000 * commits * CHANNELS) / spent[0]!, (1000 * commits * CHANNELS) / spent[1]!]
}

function ingestRow(
  name: string,
  folder: string,
  first: Way,
  second: Way,
  goal: number,
  rounds: number,
  commits: number,
  note: string,
): Row {
  const pairs = Array.from({ length: rounds }, () => ingest(folder, first, second, commits))
  const ratio = median(pairs.map(([a, b]) => a / b))
  return {
    name,
    ours: median(pairs.map(([a]) => a)),
    other: median(pairs.map(([, b]) => b)),
    unit: 'readings/s',
    ratio,
    goal: `>= ${goal}`,
    met: ratio >= goal,
    note,
  }
}

/** A large session, made by the same code that records, a hundred scans a commit and without waiting for the disk. */
function build(path: string, readings: number): void {
  const file = session(path)
  file.database.pragma('synchronous = OFF')
  const ticks = Math.ceil(readings / CHANNELS)
  for (let tick = 0; tick < ticks; tick += 100) {
    const batch: NewReading[] = []
    for (let i = tick; i < Math.min(ticks, tick + 100); i++) batch.push(...scan(i, CHANNELS))
    file.commit({ readings: batch })
  }
  file.finish('complete', 'built for the bench')
  file.close()
}

/** Empties the system's file cache; false where this user may not. */
function dropCaches(): boolean {
  try {
    execFileSync('sync')
    writeFileSync('/proc/sys/vm/drop_caches', '3')
    return true
  } catch {
    return false
  }
}

function timed<T>(work: () => T): [number, T] {
  const start = performance.now()
  const result = work()
  return [performance.now() - start, result]
}

const isSame = (a: Overview, b: Overview) =>
  a.n.length === b.n.length &&
  a.n.every(
    (n, i) =>
      n === b.n[i] &&
      a.t[i] === b.t[i] &&
      a.min[i] === b.min[i] &&
      a.max[i] === b.max[i] &&
      Math.abs(a.mean[i]! - b.mean[i]!) <= 1e-13 * Math.abs(b.mean[i]!),
  )

function overviewRows(path: string): Row[] {
  const query = { channel: 'ch40', buckets: BUCKETS }
  const read = <T>(look: (file: SessionFile) => T): T => {
    const file = openSessionFile(path, { mode: 'read' })
    try {
      return look(file)
    } finally {
      file.close()
    }
  }
  const grouped = (file: SessionFile) => overviewOfLog(file.database, file.numbering, query)
  const rows: Row[] = []
  let same = true
  const row = (name: string, quick: number[], plain: number[], goal: number, note: string) => {
    const ratio = median(plain) / median(quick)
    rows.push({
      name,
      ours: median(quick),
      other: median(plain),
      unit: 'ms',
      ratio,
      goal: `>= ${goal}, equal`,
      met: ratio >= goal && same,
      note,
    })
  }
  const [warmQuick, warmPlain] = read((file) => {
    const a: number[] = []
    const b: number[] = []
    for (let round = 0; round < 6; round++) {
      const [quickMs, quick] = timed(() => file.overview(query))
      const [plainMs, plain] = timed(() => grouped(file))
      same &&= isSame(quick, plain)
      // The first round only warms up.
      if (round > 0) {
        a.push(quickMs)
        b.push(plainMs)
      }
    }
    return [a, b]
  })
  row(
    'overview, 2000 buckets, warm',
    warmQuick,
    warmPlain,
    60,
    `${words(LARGE)} readings, GROUP BY over the same file, ${same ? 'equal in every bucket' : 'NOT EQUAL'}`,
  )
  const coldQuick: number[] = []
  const coldPlain: number[] = []
  let cold = true
  for (let round = 0; round < 3 && cold; round++)
    for (const [list, look] of [
      [coldQuick, (file: SessionFile) => file.overview(query)],
      [coldPlain, grouped],
    ] as const)
      read((file) => {
        cold &&= dropCaches()
        if (cold) list.push(timed(() => look(file))[0])
      })
  if (cold)
    row(
      'overview, 2000 buckets, cold',
      coldQuick,
      coldPlain,
      40,
      'file cache of the system emptied before each',
    )
  else
    rows.push({
      name: 'overview, 2000 buckets, cold',
      ours: Number.NaN,
      other: Number.NaN,
      unit: 'ms',
      ratio: Number.NaN,
      goal: '>= 40',
      met: null,
      note: 'not measured: only root may empty the file cache',
    })
  return rows
}

/** Opening the archive, a session in it, and its overview. */
function openRow(folder: string, small: string, large: string): Row {
  const clock = exampleClock()
  const stations = [small, large].map((path, i) => {
    const store = openStationStore(join(folder, `station-${i}`), { clock })
    const file = openSessionFile(path, { mode: 'read' })
    store.registerSession(file)
    file.close()
    return { store, path }
  })
  const times: number[][] = [[], []]
  for (let round = 0; round < 30; round++)
    for (const [i, { store, path }] of stations.entries()) {
      const [ms] = timed(() => {
        store.sessions()
        const file = openSessionFile(path, { mode: 'read' })
        const overview = file.overview({ channel: 'ch40', buckets: BUCKETS })
        file.close()
        return overview
      })
      if (round > 4) times[i]!.push(ms)
    }
  for (const { store } of stations) store.close()
  const [smallMs, largeMs] = times.map(median) as [number, number]
  const ratio = largeMs / smallMs
  return {
    name: 'open a session, its list and overview',
    ours: largeMs,
    other: smallMs,
    unit: 'ms',
    ratio,
    goal: '< 1.2',
    met: ratio < 1.2,
    note: `${words(LARGE)} against ${words(SMALL)} readings`,
  }
}

function sizeRow(path: string): Row {
  const db = new Database(path, { readonly: true })
  const log = Number(db.prepare("SELECT sum(pgsize) FROM dbstat WHERE name = 'log'").pluck().get())
  const readings = Number(db.prepare('SELECT max(seq) FROM log').pluck().get())
  db.close()
  const all = statSync(path).size
  return {
    name: 'bytes per reading, everything included',
    ours: all / readings,
    other: log / readings,
    unit: 'bytes',
    ratio: all / log,
    goal: '<= 1.5',
    met: all / log <= 1.5,
    note: 'against the pages of the log alone; built a hundred scans a commit',
  }
}

function bytesOfScans(folder: string): Row {
  const file = session(join(folder, 'scans.stillpoint'))
  file.database.pragma('synchronous = OFF')
  for (let tick = 0; tick < 10_000; tick++) file.commit({ readings: scan(tick, CHANNELS) })
  file.finish('complete', 'built for the bench')
  file.close()
  const row = sizeRow(join(folder, 'scans.stillpoint'))
  rmSync(join(folder, 'scans.stillpoint'))
  return {
    ...row,
    name: `${row.name}, one scan a commit`,
    note: 'as a night is recorded: a hash for each 96 readings',
  }
}

export async function bench(): Promise<Row[]> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-record-'))
  try {
    const small = join(folder, 'small.stillpoint')
    const large = join(folder, 'large.stillpoint')
    const rows = [
      ingestRow(
        'durable ingest, 96 per commit',
        folder,
        ours(),
        bare(false, CHANNELS),
        0.9,
        ROUNDS,
        ROUND_COMMITS,
        'against one INSERT per reading into the bare log, same pragmas; chunks, cells, chain and guards kept',
      ),
      ingestRow(
        'durable ingest, 96 per commit',
        folder,
        ours(),
        bare(true, 1),
        25,
        3,
        100,
        'against an indexed table, one commit per reading',
      ),
      ingestRow(
        'hash chain on',
        folder,
        ours(),
        ours(() => noChain),
        0.85,
        ROUNDS,
        1500,
        'against the same without the bytes to hash and without SHA-256',
      ),
      bytesOfScans(folder),
    ]
    build(small, SMALL)
    build(large, LARGE)
    rows.push(sizeRow(large), openRow(folder, small, large), ...overviewRows(large))
    return rows
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}
