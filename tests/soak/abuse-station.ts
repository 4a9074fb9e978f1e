/**
 * The station that is abused, in a process of its own: records 96 channels, serves its page, and tells its parent once a
 * second how many readings were stored, how long its loop was silent and what memory it holds.
 */
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { monitorEventLoopDelay } from 'node:perf_hooks'
import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { openHostedStation } from '../../main/host/open-station.ts'
import { servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import { Services } from '../../main/host/services.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { benchOf, METER_PROFILE } from '../bench/meters.ts'
import { fixtureSession } from '../report/session-fixture.ts'

export interface Beat {
  atMs: number
  readings: number
  silenceMs: number
  rssMb: number
  /** In use after a collection, heap and what lies outside of it; told when asked for. */
  heldMb?: number
}

setFlagsFromString('--expose-gc')
const collect = runInNewContext('gc') as () => void
const [folder = '', ports = '[]'] = process.argv.slice(2)
mkdirSync(join(folder, 'profiles'), { recursive: true })
writeFileSync(join(folder, 'profiles', 'bench-meter.json'), JSON.stringify(METER_PROFILE))
writeFileSync(join(folder, 'index.html'), '<!doctype html><title>Stillpoint</title>')
const hosted = await openHostedStation({ folder, clock: new RealClock(), clockKind: 'real' })
const services = new Services(hosted)
await services.people.enterFirst('C. Keeper', 'a long enough one')
const { session } = fixtureSession(hosted.store.sessionPath('reported'), { seed: 1 }, undefined, {
  id: 'reported',
})
hosted.store.registerSession(session)
session.close()
const page = await servePage({ folder, port: 0, ...socketWindows(services) })
const bench = benchOf(JSON.parse(ports) as number[], 0.1)
hosted.store.saveBench(bench, 'soak', '')
hosted.station.chooseBench(bench.id, 'soak')
await hosted.station.record({ operator: 'soak' })

let readings = 0
hosted.station.session!.recorder.onDidStore.on((stored) => {
  readings += stored.length
})
const loop = monitorEventLoopDelay({ resolution: 5 })
loop.enable()
const beat = (more: Partial<Beat> = {}) => {
  process.send?.({
    atMs: performance.now(),
    readings,
    silenceMs: loop.max / 1e6,
    rssMb: process.memoryUsage().rss / 1e6,
    ...more,
  } satisfies Beat)
  readings = 0
  loop.reset()
}
setInterval(() => beat(), 1000)
process.on('message', () => {
  collect()
  const { heapUsed, external } = process.memoryUsage()
  loop.reset()
  beat({ heldMb: (heapUsed + external) / 1e6 })
})
process.on('SIGTERM', () => {
  void page
    .close()
    .then(() => services.close())
    .then(() => hosted.close())
    .then(() => process.exit(0))
})
process.send?.({ address: page.address, watcherAddress: page.watcherAddress, port: page.port })
