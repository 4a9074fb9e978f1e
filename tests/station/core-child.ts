/**
 * A station core in a process of its own, to be killed. Arguments: data folder, bench and register as a JSON file, speed,
 * epoch (ms). Tells each reading it shows on stdout, one JSON line each.
 */
import { readFileSync } from 'node:fs'
import pino from 'pino'
import type { Bench } from '../../app/records/bench.ts'
import { Plan } from '../../app/records/plan.ts'
import type { Register } from '../../app/records/register.ts'
import { loadProfiles, openInstrument } from '../../drivers/index.ts'
import { Station } from '../../main/station/station.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { EpochClock } from './epoch-clock.ts'

const [folder, file, speed, epoch] = process.argv.slice(2)
const { bench, register, plan } = JSON.parse(readFileSync(file!, 'utf8')) as {
  bench: Bench
  register: Register
  plan: unknown
}
const clock = new EpochClock(Number(epoch), Number(speed))
const profiles = await loadProfiles()
const store = openStationStore(folder!, { clock })
if (store.benches().length === 0) {
  for (const entry of register.thermometers) store.saveThermometer(entry, 'test', '')
  for (const entry of register.resistors) store.saveResistor(entry, 'test', '')
  for (const entry of register.instruments) store.saveInstrument(entry, 'test', '')
  for (const entry of register.fluids) store.saveFluid(entry, 'test', '')
  store.saveBench(bench, 'test', '')
}
const station = new Station({
  folder: folder!,
  clock,
  clockKind: 'scaled',
  store,
  profileTexts: () => ({}),
  openInstrument: (spec) => openInstrument({ spec, clock, profiles }),
  log: pino({ level: 'error' }, pino.destination(2)),
  program: 'Stillpoint',
  programVersion: '0.1.0',
})
const tell = (what: unknown) => process.stdout.write(`${JSON.stringify(what)}\n`)
const taken = await station.open()
if (taken === undefined) await station.startPlan({ plan: Plan.parse(plan), operator: 'Test' })
tell({ session: station.session!.info.id, resumed: taken !== undefined })
station.session!.recorder.onDidStore.on((readings) => {
  for (const { seq, channel, raw } of readings) tell({ seq, channel, raw })
})
tell({ finished: await station.finished })
await station.close()
store.close()
process.exit(0)
