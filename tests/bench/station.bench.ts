/**
 * The whole path on loopback: instruments in their own process, sockets, driver, lanes, commit, watch; against a bare loop of
 * sockets and inserts in the same run. Paces are by
 * each one's own processor time, since others may take the rest of the machine. STILLPOINT_BENCH_STATION_S sets how long each part runs, s (10).
 */
import { fork } from 'node:child_process'
import { once } from 'node:events'
import { mkdtempSync, rmSync } from 'node:fs'
import { connect, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { monitorEventLoopDelay } from 'node:perf_hooks'
import Database from 'better-sqlite3'
import pino from 'pino'
import { openInstrument } from '../../drivers/index.ts'
import { defineDriver } from '../../drivers/profile/define.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { Station } from '../../main/station/station.ts'
import { setPragmas } from '../../main/store/sqlite.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { benchOf, INPUTS, METER_PROFILE, METERS } from './meters.ts'
import type { Row } from './row.ts'

const SECONDS = Number(process.env.STILLPOINT_BENCH_STATION_S ?? 10)
const driver = defineDriver('tests/bench/meters.ts', METER_PROFILE)

interface Measured {
  readonly perSecond: number
  /** Processor time as a part of one core. */
  readonly core: number
  readonly rssMb: number
  /** From the last byte of an answer to the disk, ms. */
  readonly p99Ms: number
  /** Longest silences of the loop, ms. */
  readonly silenceMs: number
}

async function ours(ports: readonly number[], scanEveryS: number): Promise<Measured> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-bench-'))
  const clock = new RealClock()
  const store = openStationStore(folder, { clock })
  const bench = benchOf(ports, scanEveryS)
  store.saveBench(bench, 'bench', '')
  const station = new Station({
    folder,
    clock,
    store,
    profileTexts: () => ({}),
    openInstrument: (spec) =>
      openInstrument({
        spec,
        clock,
        profiles: { profiles: new Map([['bench-meter', driver]]), problems: [] },
      }),
    log: pino({ level: 'silent' }),
    program: 'Stillpoint',
    programVersion: 'bench',
  })
  try {
    await station.record({ operator: 'bench' })
    await clock.sleep(2_000)
    const run = station.session!
    const late: number[] = []
    let count = 0
    const listening = run.recorder.onDidStore.on((readings) => {
      const nowUs = run.recorder.now().monoUs
      count += readings.length
      for (const { monoUs } of readings) late.push((nowUs - monoUs) / 1000)
    })
    const loop = monitorEventLoopDelay({ resolution: 1 })
    loop.enable()
    const cpu = process.cpuUsage()
    const from = performance.now()
    await clock.sleep(SECONDS * 1000)
    const ms = performance.now() - from
    const { user, system } = process.cpuUsage(cpu)
    loop.disable()
    listening.dispose()
    late.sort((a, b) => a - b)
    return {
      perSecond: (count / ms) * 1000,
      core: (user + system) / 1000 / ms,
      rssMb: process.memoryUsage.rss() / 1e6,
      p99Ms: late[Math.floor(late.length * 0.99)] ?? Number.NaN,
      silenceMs: loop.percentile(99.9) / 1e6,
    }
  } finally {
    station.stop('bench')
    await station.finished
    await station.close()
    store.close()
    rmSync(folder, { recursive: true, force: true })
  }
}

/** Asks and inserts with nothing in between: no marks, no chain, no watch. */
async function bare(ports: readonly number[]): Promise<{ perSecond: number; core: number }> {
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
  const committing = setInterval(() => {
    insertAll(rows)
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
  return { perSecond, core: (user + system) / 1000 / ms }
}

export async function bench(): Promise<Row[]> {
  const peer = fork(new URL('./station-peer.ts', import.meta.url), [String(METERS)])
  try {
    const [ports] = (await once(peer, 'message')) as [number[]]
    const plain = await bare(ports)
    const fast = await ours(ports, 0)
    const steady = await ours(ports, 0.1)
    const channels = METERS * INPUTS
    const due = channels * 10
    const one = (value: number, goal: number, less: boolean) => (less ? value <= goal : value >= goal)
    const row = (
      name: string,
      value: number,
      unit: string,
      goal: string,
      met: boolean | null,
      other = Number.NaN,
    ): Row => ({
      name,
      ours: value,
      other,
      unit,
      ratio: value / other,
      goal,
      met,
    })
    return [
      {
        ...row(
          `${METERS} meters x ${INPUTS} channels as fast as they go`,
          fast.perSecond / fast.core,
          'readings/s of processor',
          '>= 10,000 on one core',
          one(fast.perSecond / fast.core, 10_000, false),
          plain.perSecond / plain.core,
        ),
        note: `other: a bare loop of sockets and inserts; ours used ${(fast.core * 100).toFixed(0)} % of a core, the bare loop ${(plain.core * 100).toFixed(0)} %`,
      },
      {
        ...row(
          `${channels} channels at 10/s: processor`,
          steady.core * 100,
          '% of a core',
          '<= 12',
          one(steady.core * 100, 12, true),
        ),
        note: `${steady.perSecond.toFixed(0)} of ${due} readings/s came`,
      },
      {
        ...row(
          `${channels} channels at 10/s: resident memory`,
          steady.rssMb,
          'MB',
          '<= 250 after an hour',
          SECONDS >= 3600 ? one(steady.rssMb, 250, true) : null,
        ),
        note: `after ${SECONDS} s, in the process of the bench`,
      },
      row(
        `${channels} channels at 10/s: instrument to disk, p99`,
        steady.p99Ms,
        'ms',
        '< 100',
        one(steady.p99Ms, 100, true),
      ),
      {
        ...row(
          `${channels} channels at 10/s: silence of the loop, p99.9`,
          steady.silenceMs,
          'ms',
          '< 50',
          one(steady.silenceMs, 50, true),
        ),
        note: 'nothing else runs; studies run in other threads',
      },
    ]
  } finally {
    peer.disconnect()
    peer.kill()
  }
}
