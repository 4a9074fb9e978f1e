/**
 * The whole path on loopback: instruments in their own process, sockets, driver, lanes, commit, watch; the station in another;
 * against a bare loop of sockets and inserts in the same run. Paces are by each one's own processor time, since others may
 * take the rest of the machine. STILLPOINT_BENCH_STATION_S sets how long each part runs, s (10); STILLPOINT_BENCH_LONG=1
 * records an hour and feeds three days as well.
 */
import { execFileSync, fork } from 'node:child_process'
import { once } from 'node:events'
import { mkdtempSync, rmSync } from 'node:fs'
import { connect, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import Database from 'better-sqlite3'
import { CORE_FLAGS } from '../../main/station/watchdog.ts'
import { setPragmas } from '../../main/store/sqlite.ts'
import { INPUTS, METERS } from './meters.ts'
import type { Row } from './row.ts'
import { growthRows } from './station-growth.ts'
import type { Ours } from './station-ours.ts'

const CHANNELS = METERS * INPUTS
const SECONDS = Number(process.env.STILLPOINT_BENCH_STATION_S ?? 10)
const HOUR_S = 3600
const LONG = process.env.STILLPOINT_BENCH_LONG === '1'

/** A part of ours in a process of its own, begun as a service begins a core, so that nothing of another part is in its memory. */
function ours(
  part: 'plain' | 'beside',
  ports: readonly number[],
  scanEveryS: number,
  seconds = SECONDS,
): Ours {
  const script = fileURLToPath(new URL('station-ours.ts', import.meta.url))
  const args = [...CORE_FLAGS, script, part, JSON.stringify(ports), String(scanEveryS), String(seconds)]
  return JSON.parse(execFileSync(process.execPath, args, { encoding: 'utf8' }).trim()) as Ours
}

/** Asks and inserts with nothing in between: no marks, no chain, no watch. */
async function bare(ports: readonly number[]): Promise<{ perSecond: number; core: number; syncMs: number }> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-bare-'))
  const db = new Database(join(folder, 'bare.db'))
  setPragmas(db, 'bare', 'write')
  db.exec('CREATE TABLE log (seq INTEGER PRIMARY KEY, channel INTEGER, utc REAL, raw TEXT) STRICT')
  const insert = db.prepare('INSERT INTO log (channel, utc, raw) VALUES (?, ?, ?)')
  const insertAll = db.transaction((rows: readonly [number, number, string][]) => {
    for (const row of rows) insert.run(...row)
  })
  let rows: [number, number, string][] = []
  let count = 0
  const synced: number[] = []
  const committing = setInterval(() => {
    const from = performance.now()
    insertAll(rows)
    synced.push(performance.now() - from)
    count += rows.length
    rows = []
  }, 50)
  const sockets: Socket[] = []
  for (const [m, port] of ports.entries()) {
    const socket = connect({ port, host: '127.0.0.1', noDelay: true })
    await once(socket, 'connect')
    let input = 0
    let held = ''
    const ask = () => socket.write(`READ? ${(input++ % INPUTS) + 1}\n`, 'latin1')
    socket.on('data', (bytes) => {
      held += bytes.toString('latin1')
      for (let end = held.indexOf('\n'); end >= 0; end = held.indexOf('\n')) {
        rows.push([m * INPUTS + (input % INPUTS), Date.now(), held.slice(0, end)])
        held = held.slice(end + 1)
        ask()
      }
    })
    sockets.push(socket)
    ask()
  }
  const cpu = process.cpuUsage()
  const from = performance.now()
  await new Promise((resolve) => setTimeout(resolve, SECONDS * 1000))
  const ms = performance.now() - from
  const { user, system } = process.cpuUsage(cpu)
  const perSecond = (count / ms) * 1000
  clearInterval(committing)
  for (const socket of sockets) socket.destroy()
  db.close()
  rmSync(folder, { recursive: true, force: true })
  synced.sort((a, b) => a - b)
  return { perSecond, core: (user + system) / 1000 / ms, syncMs: synced[Math.floor(synced.length * 0.99)]! }
}

const one = (value: number, goal: number, less: boolean) => (less ? value <= goal : value >= goal)

const row = (
  name: string,
  value: number,
  unit: string,
  goal: string,
  met: boolean | null,
  other = Number.NaN,
): Row => ({ name, ours: value, other, unit, ratio: value / other, goal, met })

const doneWords = (done: Ours['done']) =>
  Object.entries(done)
    .map(([name, times]) => `${times} ${name}`)
    .join(', ')

function steadyRows(steady: Ours, beside: Ours, syncMs: number): Row[] {
  const name = `${CHANNELS} channels at 10/s`
  return [
    {
      ...row(
        `${name}: processor`,
        steady.core * 100,
        '% of a core',
        '<= 12',
        one(steady.core * 100, 12, true),
      ),
      note: `${steady.perSecond.toFixed(0)} of ${CHANNELS * 10} readings/s came`,
    },
    {
      ...row(
        `${name}: instrument to disk, p99`,
        steady.p99Ms,
        'ms',
        '< 100',
        one(steady.p99Ms, 100, true),
        syncMs,
      ),
      note: 'other: p99 of what one commit of the bare loop takes on this disk; readings go in groups 50 ms apart',
    },
    row(`${name}: silence of the loop, p99.9`, steady.silenceMs, 'ms', '', null),
    {
      ...row(
        `${name}, and all that windows ask: silence of the loop, p99.9`,
        beside.silenceMs,
        'ms',
        '< 50',
        one(beside.silenceMs, 50, true),
        steady.silenceMs,
      ),
      note: `beside it ${doneWords(beside.done)} in ${SECONDS} s, the onlookers in a thread of their own; longest ${beside.longestMs.toFixed(0)} ms, p99 to disk ${beside.p99Ms.toFixed(0)} ms, ${beside.perSecond.toFixed(0)} readings/s; other: the station alone`,
    },
  ]
}

export async function bench(): Promise<Row[]> {
  const peer = fork(new URL('./station-peer.ts', import.meta.url), [String(METERS)])
  try {
    const [ports] = (await once(peer, 'message')) as [number[]]
    const plain = await bare(ports)
    const fast = ours('plain', ports, 0)
    const pace = fast.perSecond / fast.core
    const rows: Row[] = [
      {
        ...row(
          `${METERS} meters x ${INPUTS} channels as fast as they go`,
          pace,
          'readings/s of processor',
          '>= 10,000 on one core',
          one(pace, 10_000, false),
          plain.perSecond / plain.core,
        ),
        note: `other: a bare loop of sockets and inserts; ours used ${(fast.core * 100).toFixed(0)} % of a core, the bare loop ${(plain.core * 100).toFixed(0)} %`,
      },
      ...steadyRows(ours('plain', ports, 0.1), ours('beside', ports, 0.1), plain.syncMs),
    ]
    return LONG ? [...rows, hourRow(ports), ...growthRows()] : rows
  } finally {
    peer.disconnect()
    peer.kill()
  }
}

function hourRow(ports: readonly number[]): Row {
  const { rssMb, perSecond, p99Ms } = ours('plain', ports, 0.1, HOUR_S)
  return {
    ...row(
      `${CHANNELS} channels at 10/s: resident memory after an hour`,
      rssMb,
      'MB',
      '<= 250',
      one(rssMb, 250, true),
    ),
    note: `${perSecond.toFixed(0)} readings/s at their own pace, p99 to disk ${p99Ms.toFixed(0)} ms`,
  }
}
