/**
 * One station in a process of its own, so that its memory, its processor time and its loop are judged alone. Prints one line of
 * JSON: `node station-ours.ts PART PORTS SCAN_S SECONDS`.
 *   plain    records and does nothing else
 *   beside   records while reports, verifications, replays and exports of other sessions run and twenty onlookers follow
 */

import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createHistogram, monitorEventLoopDelay } from 'node:perf_hooks'
import { type Transferable, Worker } from 'node:worker_threads'
import { openHostedStation } from '../../main/host/open-station.ts'
import { Services } from '../../main/host/services.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { enterKeeper } from '../host/keeper.ts'
import { Windows } from '../host/window.ts'
import { fixtureSession } from '../report/session-fixture.ts'
import { benchOf, METER_PROFILE } from './meters.ts'

export interface Ours {
  readonly perSecond: number
  /** Processor time as a part of one core. */
  readonly core: number
  /** Resident memory at the end, MB. */
  readonly rssMb: number
  /** From the last byte of an answer to the disk, ms. */
  readonly p99Ms: number
  /** Silence of the loop that one turn in a thousand exceeds, ms, and the longest. */
  readonly silenceMs: number
  readonly longestMs: number
  /** What was done beside, by its name, how often. */
  readonly done: Readonly<Record<string, number>>
}

const ONLOOKERS = 20
const NIGHTS = 3
const [part = 'plain', portsText = '[]', scanText = '0.1', secondsText = '10'] = process.argv.slice(2)
const ports = JSON.parse(portsText) as number[]
const scanEveryS = Number(scanText)
const seconds = Number(secondsText)
const rssMb = () => process.memoryUsage.rss() / 1e6
const folder = mkdtempSync(join(tmpdir(), 'stillpoint-bench-'))
try {
  console.log(JSON.stringify(await measured(part === 'beside')))
} finally {
  rmSync(folder, { recursive: true, force: true })
}
process.exit()

async function measured(beside: boolean): Promise<Ours> {
  mkdirSync(join(folder, 'profiles'))
  writeFileSync(join(folder, 'profiles/bench-meter.json'), JSON.stringify(METER_PROFILE))
  const clock = new RealClock()
  const hosted = await openHostedStation({ folder, clock, clockKind: 'real' })
  const { store, station } = hosted
  const services = new Services(hosted)
  const bench = benchOf(ports, scanEveryS)
  store.saveBench(bench, 'bench', '')
  station.chooseBench(bench.id, 'bench')
  const nights = beside ? Array.from({ length: NIGHTS }, (_, i) => aNight(i)) : []
  await enterKeeper(services)
  await station.record({ operator: 'bench' })
  await clock.sleep(2_000)
  const run = station.session!
  const windows = new Windows()
  const done: Record<string, number> = {}
  const ended = new AbortController()
  const doings = beside ? beginBeside(services, windows, nights, done, ended.signal) : []
  // What is done for the first time loads code: the station has been up for a while when it is judged.
  if (beside) await clock.sleep(8_000)
  const before = { ...done }
  // Of an hour's readings a list would itself be a part of what is measured.
  const lateUs = createHistogram()
  let count = 0
  const listening = run.recorder.onDidStore.on((readings) => {
    const nowUs = run.recorder.now().monoUs
    count += readings.length
    for (const { monoUs } of readings) lateUs.record(Math.max(1, Math.round(nowUs - monoUs)))
  })
  // A look each millisecond is itself 3 % of a core.
  const loop = monitorEventLoopDelay({ resolution: 5 })
  loop.enable()
  const cpu = process.cpuUsage()
  const from = performance.now()
  await clock.sleep(seconds * 1000)
  const ms = performance.now() - from
  const { user, system } = process.cpuUsage(cpu)
  loop.disable()
  listening.dispose()
  const result: Ours = {
    perSecond: (count / ms) * 1000,
    core: (user + system) / 1000 / ms,
    rssMb: rssMb(),
    p99Ms: lateUs.percentile(99) / 1000,
    silenceMs: loop.percentile(99.9) / 1e6,
    longestMs: loop.max / 1e6,
    done: Object.fromEntries(
      Object.entries(done).map(([name, times]) => [name, times - (before[name] ?? 0)]),
    ),
  }
  // A replay that is let go of in the middle may still wait for its next frame; its window is closed after it has ended.
  process.on('uncaughtException', (fault) => {
    if (fault.name !== 'AbortError') throw fault
  })
  ended.abort()
  await Promise.allSettled(doings)
  windows.close()
  station.stop('bench')
  await station.finished
  await services.close()
  await hosted.close()
  return result

  /** A night with points that has ended, as the report's tests make them: what is reported on, verified, replayed, exported. */
  function aNight(i: number): string {
    const id = `night-${i}`
    const { session } = fixtureSession(store.sessionPath(id), { seed: i + 1 }, (setup) => setup, { id })
    session.finish('complete', 'made for the bench')
    store.registerSession(session)
    session.close()
    return id
  }
}

/** Everything that a laboratory's windows ask of a station in a night, over and over until the signal. */
function beginBeside(
  services: Services,
  windows: Windows,
  nights: readonly string[],
  done: Record<string, number>,
  signal: AbortSignal,
): Promise<void>[] {
  followBy(services, windows, done, signal)
  const client = windows.open(services, 'operator')
  const over = (name: string, act: (i: number) => Promise<unknown>): Promise<void> =>
    (async () => {
      done[name] = 0
      for (let i = 0; !signal.aborted; i++) {
        await act(i)
        done[name]! += 1
      }
    })()
  const night = (i: number) => nights[i % nights.length]!
  return [
    over('reports', (i) => client.points.reportPdf({ session: night(i) })),
    over('verifications', (i) => client.archive.verify({ session: night(i) })),
    over('exports', (i) => client.archive.export({ session: night(i), format: 'parquet' })),
    over('replays', async (i) => {
      for await (const _ of await client.archive.replay({ session: night(i), speed: 3600 }))
        if (signal.aborted) return
    }),
  ]
}

/** Twenty onlookers, in a thread of their own as they are at other computers. */
function followBy(
  services: Services,
  windows: Windows,
  done: Record<string, number>,
  signal: AbortSignal,
): void {
  const thread = new Worker(new URL('./station-onlookers.ts', import.meta.url))
  const ports = Array.from({ length: ONLOOKERS }, () => windows.portOf(services, 'watcher'))
  thread.postMessage(ports, ports as unknown as Transferable[])
  thread.on('message', (looks: number) => {
    done['looks of onlookers'] = looks
  })
  // What they wait for when they are let go of ends with a fault of its own.
  thread.on('error', (fault) => {
    if (!signal.aborted) throw fault
  })
  signal.addEventListener('abort', () => void thread.terminate())
}
