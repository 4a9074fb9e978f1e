/**
 * One station on a folder of years, in a process of its own, so that its memory and its loop are judged alone: opens it,
 * asks for every list and for charts as a window does while 96 channels are recorded, and prints one line of JSON:
 * `node years-station.ts FOLDER [start]`; with `start` it is opened and nothing more.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { monitorEventLoopDelay } from 'node:perf_hooks'
import { setTimeout as pause } from 'node:timers/promises'
import { openHostedStation } from '../../main/host/open-station.ts'
import { Services } from '../../main/host/services.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { Windows } from '../host/window.ts'
import { exampleClock, exampleInfo, exampleSetup, scan } from '../store/example-data.ts'

export interface Measured {
  startMs: number
  restMb: number
  afterMb: number
  /** Median of some, ms. */
  asked: Record<string, number>
  loopP999Ms: number
}

/** Questions whose answer itself grows with the years. */
export type Large = 'ledger, searched for what most lines hold' | 'a chart of ten years'

const TIMES = 7
const CHARTS = 20
const CHANNELS = 96
const SCAN_MS = 100

const [folder, only] = process.argv.slice(2)
if (folder === undefined) throw new Error('years-station: name a data folder')
const from = performance.now()
const hosted = await openHostedStation({ folder, clock: new RealClock(), clockKind: 'real' })
const services = new Services(hosted)
const windows = new Windows()
const client = windows.open(services, 'operator')
await client.station.state()
const startMs = performance.now() - from
if (only === 'start') {
  console.log(JSON.stringify({ startMs }))
  windows.close()
  await services.close()
  await hosted.close()
  process.exit(0)
}
await pause(2000)
const mb = () => process.memoryUsage().rss / 1e6
const restMb = mb()

const aside = mkdtempSync(join(tmpdir(), 'stillpoint-recording-'))
const recording = createSessionFile(join(aside, 'a.stillpoint'), {
  info: exampleInfo,
  setup: exampleSetup,
  clock: exampleClock(),
})
let tick = 0
const recorder = setInterval(() => recording.commit({ readings: scan(++tick, CHANNELS) }), SCAN_MS)
const loop = monitorEventLoopDelay({ resolution: 5 })
loop.enable()

// What is searched finds the same few in both folders, so that what is compared is the search; but for this one, which finds
// 30,000 of 42,000 lines.
const MOST_LINES: Large = 'ledger, searched for what most lines hold'
const CHART: Large = 'a chart of ten years'

const asked: Record<string, number> = {}
async function ask(name: string, question: () => Promise<unknown>, times = TIMES): Promise<void> {
  const took: number[] = []
  for (let i = 0; i < times; i += 1) {
    const began = performance.now()
    await question()
    took.push(performance.now() - began)
  }
  asked[name] = took.toSorted((a, b) => a - b)[Math.floor(took.length / 2)]!
}
await ask('sessions', () => client.archive.sessions({}))
await ask('sessions, searched', () => client.archive.sessions({ search: 'night person 3' }))
await ask('sessions, by size', () => client.archive.sessions({ sort: 'bytes' }))
await ask('thermometers', () => client.register.list({ kinds: ['thermometer'] }))
await ask('thermometers, searched', () => client.register.list({ kinds: ['thermometer'], search: 'HD-101' }))
await ask('thermometers, by due date', () => client.register.list({ kinds: ['thermometer'], sort: 'due' }))
await ask('resistors', () => client.register.list({ kinds: ['resistor'] }))
await ask('customers, searched', () => client.register.list({ kinds: ['customer'], search: 'cust' }))
await ask('one thermometer', () => client.register.some({ thermometers: ['t-5'] }))
await ask('due dates', () => client.register.dueDates({}))
await ask('ledger', () => client.register.ledger({}))
await ask('ledger, searched', () => client.register.ledger({ search: 'customer cu-3' }))
await ask(MOST_LINES, () => client.register.ledger({ search: 'calibration keeper' }))
const charted = await client.checks.charted({ kind: 'check-thermometer', most: CHARTS })
const ids = charted.rows.map(({ id }) => id)
let at = 0
await ask(
  CHART,
  () => client.checks.history({ kind: 'check-thermometer', id: ids[at++ % ids.length]! }),
  CHARTS,
)
loop.disable()
clearInterval(recorder)
const afterMb = mb()
const measured: Measured = { startMs, restMb, afterMb, asked, loopP999Ms: loop.percentile(99.9) / 1e6 }
console.log(JSON.stringify(measured))
recording.close()
windows.close()
await services.close()
await hosted.close()
rmSync(aside, { recursive: true, force: true })
process.exit(0)
