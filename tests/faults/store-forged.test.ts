import { spawnSync } from 'node:child_process'
import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { beforeAll, describe, expect, it } from 'vitest'
import { StoreError } from '../../main/store/errors.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import {
  exampleClock,
  exampleEvent,
  exampleInfo,
  examplePoint,
  exampleSetup,
  scan,
  sharedFolder,
} from '../store/example.ts'

/** Bytes changed per run: some with the tests, 2,000 in the long form. */
const FLIPS = Number(process.env.STILLPOINT_FLIPS ?? 150) * 2
const SHELL = ['/usr/bin/sqlite3', '/usr/local/bin/sqlite3'].find(existsSync)
/** No forged file may hold anybody up longer, ms: a whole one of this size is verified in a tenth of it. */
const LONGEST_MS = 5_000

let path: string
let anchor: { batch: number; head: string }
let bytes: Buffer

beforeAll(() => {
  path = join(sharedFolder(), 'forged.stillpoint')
  const setup = { ...exampleSetup, profiles: { long: 'a profile of many words '.repeat(900) } }
  const file = createSessionFile(path, { info: exampleInfo, setup, clock: exampleClock() })
  for (let tick = 0; tick < 300; tick++)
    file.commit({
      readings: scan(tick, 4),
      events: tick % 50 === 0 ? [exampleEvent(`scan ${tick}`)] : [],
      points: tick === 200 ? [examplePoint] : [],
      runner: { tick },
    })
  file.finish('complete', 'done')
  anchor = file.anchor()
  // Pages that are free: chunks may be thrown away and are built again.
  file.database.exec(
    'CREATE TABLE scratch (x); INSERT INTO scratch VALUES (zeroblob(40000)); DROP TABLE scratch',
  )
  file.close()
  bytes = readFileSync(path)
})

/** Kind of the page at an offset: https://www.sqlite.org/fileformat2.html, 1.5 and 1.6. */
function pageKinds(): string[] {
  const size = bytes.readUInt16BE(16)
  const count = bytes.length / size
  const free = new Set<number>()
  for (let trunk = bytes.readUInt32BE(32); trunk !== 0; ) {
    free.add(trunk)
    const at = (trunk - 1) * size
    for (let i = 0; i < bytes.readUInt32BE(at + 4); i++) free.add(bytes.readUInt32BE(at + 8 + 4 * i))
    trunk = bytes.readUInt32BE(at)
  }
  const names: Record<number, string> = {
    2: 'index interior',
    5: 'table interior',
    10: 'index leaf',
    13: 'table leaf',
  }
  return Array.from({ length: count }, (_, i) => {
    if (i === 0) return 'schema'
    if (free.has(i + 1)) return 'free'
    return names[bytes[i * size]!] ?? 'overflow'
  })
}

/** What the shell of SQLite makes of a file: its own check, and all that it says. */
function shellSays(file: string): string {
  const sql =
    'PRAGMA integrity_check; SELECT type, name, tbl_name, sql FROM sqlite_schema;' +
    [
      'session',
      'mark',
      'source',
      'log',
      'event',
      'point',
      'batch',
      'working',
      'chunk',
      'chunk_cells',
      'chunk_body',
      'sealed',
    ]
      .map((table) => `SELECT * FROM ${table};`)
      .join('')
  const { stdout, stderr, status } = spawnSync(SHELL!, ['-batch', '-readonly', file, sql], { maxBuffer: 1e8 })
  return `${status} ${stderr.toString()} ${stdout.toString('latin1')}`
}

/** Whether verify finds a break; a file that is refused as one of a newer program counts as found. */
function isFound(file: string): boolean {
  try {
    return !verifySession(file, { anchors: [anchor] }).whole
  } catch (fault) {
    if (fault instanceof StoreError && fault.code === 'newer') return true
    throw fault
  }
}

let draws = 12345
/** The same places in every run (a linear congruential generator; Numerical Recipes' constants, from memory). */
const draw = (below: number) => {
  draws = (Math.imul(draws, 1664525) + 1013904223) >>> 0
  return Math.floor((draws / 2 ** 32) * below)
}

describe('a changed byte', () => {
  it('in any kind of page is found, or harmless to every reader, the shell of SQLite too', (context) => {
    if (!SHELL) return context.skip('the shell of SQLite is not installed here')
    const size = bytes.readUInt16BE(16)
    const kinds = pageKinds()
    const seen = new Map<string, number>()
    const whole = shellSays(path)
    expect(whole).toMatch(/^0 {2}ok\n/)
    const target = join(sharedFolder(), 'flipped.stillpoint')
    const unseen: string[] = []
    const all = [...new Set(['head', ...kinds])]
    for (let i = 0; i < FLIPS; i++) {
      const kind = all[i % all.length]!
      const pages = kinds.flatMap((k, page) => (k === kind ? [page] : []))
      const at = kind === 'head' ? draw(100) : pages[draw(pages.length)]! * size + draw(size)
      const changed = Buffer.from(bytes)
      changed[at] = (changed[at]! + 1 + draw(255)) % 256
      writeFileSync(target, changed)
      seen.set(kind, (seen.get(kind) ?? 0) + 1)
      if (!isFound(target) && shellSays(target) !== whole)
        unseen.push(`${kind}, byte ${at} to ${changed[at]}`)
    }
    expect(unseen).toEqual([])
    for (const kind of ['head', 'schema', 'table leaf', 'table interior', 'index leaf', 'overflow', 'free'])
      expect([kind, seen.get(kind) ?? 0]).toEqual([kind, expect.any(Number)])
    expect(all).toEqual(
      expect.arrayContaining(['schema', 'table leaf', 'table interior', 'overflow', 'free']),
    )
  }, 600_000)
})

const ENDLESS = 'WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT'
const TABLES = ['session', 'mark', 'source', 'log', 'event', 'point', 'batch']
const OTHERS = ['working', 'chunk', 'chunk_cells', 'chunk_body', 'sealed']
const columnsOf: Record<string, string> = {
  session: '1 AS one, i AS info, i AS setup',
  mark: 'i AS bit, i AS name',
  source: "i AS id, 'c' AS channel, 'ohm' AS unit, 1.0 AS current_ma",
  log: "i AS seq, 1 AS source, 0 AS utc_us, 0 AS mono_us, '1' AS raw, '=' AS value, 0 AS marks",
  event:
    "i AS n, 0 AS utc_us, 0 AS mono_us, 'note' AS kind, 'w' AS who, NULL AS subject, 'w' AS words, '{}' AS data",
  point: "i AS n, '{}' AS json",
  batch:
    "i AS n, i AS last_seq, 0 AS last_event, 0 AS last_point, 1 AS last_source, 1 AS last_mark, x'00' AS hash",
  working: "i AS key, '1' AS value, x'00' AS sha256",
  chunk:
    'i AS id, 1 AS count, 1 AS first_seq, 1 AS last_seq, 0 AS low_utc_us, 0 AS high_utc_us, 0 AS numbers, 0.0 AS low, 0.0 AS high, 0.0 AS total',
  chunk_cells: "i AS id, x'00' AS cells",
  chunk_body: "i AS id, x'00' AS body",
  sealed: 'i AS channel, 1 AS chunks, 1 AS through_seq',
}

/** Edits of somebody who has the file and SQLite: triggers are dropped and put back where that hides the edit. */
const FORGED: [name: string, sql: string][] = [
  ...[...TABLES, ...OTHERS].flatMap((table): [string, string][] => [
    [
      `an endless view in place of ${table}`,
      `ALTER TABLE ${table} RENAME TO ${table}_old; CREATE VIEW ${table} AS ${ENDLESS} ${columnsOf[table]} FROM n`,
    ],
    [`a view beside ${table}`, `CREATE VIEW ${table}_too AS SELECT * FROM ${table}`],
    [
      `an index on ${table}`,
      `CREATE INDEX ${table}_index ON ${table} (${columnsOf[table]!.match(/AS (\w+)/)![1]})`,
    ],
    [
      `a trigger that adds without end to ${table}`,
      `CREATE TRIGGER ${table}_more AFTER INSERT ON ${table} BEGIN DELETE FROM working; END`,
    ],
    [`another column of ${table}`, `ALTER TABLE ${table} ADD COLUMN more TEXT`],
    [
      `a column of ${table} that is computed`,
      `ALTER TABLE ${table} ADD COLUMN more TEXT AS (printf('%.*c', 1000, 'x')) VIRTUAL`,
    ],
  ]),
  ...TABLES.flatMap((table): [string, string][] => [
    [`no trigger against updates of ${table}`, `DROP TRIGGER ${table}_no_update`],
    [
      `a toothless trigger against deletes from ${table}`,
      `DROP TRIGGER ${table}_no_delete; CREATE TRIGGER ${table}_no_delete BEFORE DELETE ON ${table} BEGIN SELECT 1; END`,
    ],
    [
      `the last row of ${table} taken away`,
      `DROP TRIGGER ${table}_no_delete; DELETE FROM ${table} WHERE rowid = (SELECT max(rowid) FROM ${table});
       CREATE TRIGGER ${table}_no_delete BEFORE DELETE ON ${table} BEGIN SELECT RAISE(ABORT, '${table} is append-only'); END`,
    ],
  ]),
  [
    'a batch that claims a thousand million readings',
    'DROP TRIGGER batch_no_update; UPDATE batch SET last_seq = 1000000000 WHERE n = 7',
  ],
  [
    'a batch that claims a reading and a half',
    'PRAGMA writable_schema = 1; DROP TRIGGER batch_no_update; UPDATE batch SET last_seq = 9007199254740993 WHERE n = 300',
  ],
  [
    'a reading of a source that is not there',
    'DROP TRIGGER log_no_update; UPDATE log SET source = 2147483647 WHERE seq = 9',
  ],
  [
    'a view that says other readings',
    "DROP VIEW reading; CREATE VIEW reading AS SELECT seq, 'ref' AS channel FROM log",
  ],
  ['a table of its own', 'CREATE TABLE more (x)'],
  ['a virtual table', 'CREATE VIRTUAL TABLE more USING fts5(x)'],
]

describe('a forged session', () => {
  it('is made in a hundred ways', () => expect(FORGED.length).toBeGreaterThanOrEqual(99))

  it.each(FORGED)('with %s is found, and holds nobody up', (_, sql) => {
    const target = join(sharedFolder(), 'edited.stillpoint')
    writeFileSync(target, bytes)
    const db = new Database(target)
    db.pragma('legacy_alter_table = ON')
    db.exec(sql)
    db.close()
    const from = performance.now()
    const before = process.memoryUsage.rss()
    expect(isFound(target)).toBe(true)
    // Whoever opens it is refused, or reads what there is; nobody writes to it.
    try {
      const file = openSessionFile(target, { mode: 'read' })
      expect(file.since(0, 10).length).toBeLessThanOrEqual(10)
      expect(file.points().length).toBeLessThan(10)
      file.close()
    } catch (fault) {
      expect(fault).toBeInstanceOf(StoreError)
    }
    expect(performance.now() - from).toBeLessThan(LONGEST_MS)
    expect(process.memoryUsage.rss() - before).toBeLessThan(300e6)
  })
})
