import { mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, relative, resolve } from 'node:path'
import { Command, Option } from 'commander'
import { linkWords } from '../../../app/records/link-words.ts'
import { ComparisonError } from '../../../app/results/uncertainty-error.ts'
import { LAB_BUSES, type LabBus } from '../../../simulator/buses/lab-buses.ts'
import type { HostileCase } from '../../../simulator/hostile/cases.ts'
import { SCENARIOS } from '../../../simulator/scenarios/index.ts'
import { SCENARIO_NAMES, type ScenarioName } from '../../../simulator/scenarios/scenario.ts'
import { VirtualClock } from '../../station/clocks/virtual.ts'
import { ensurePage } from '../built.ts'
import { placeOrders } from '../demo-orders.ts'
import { signDemo, writeRoot } from '../demo-signing.ts'
import { LAB_LABORATORY, placeLab } from '../lab-desk.ts'
import { planFor, recordingHours } from '../lab-night.ts'
import { openHostedStation } from '../open-station.ts'
import { port, speed, wholeNumber } from '../options.ts'
import { measureItems } from '../orders/measure-items.ts'
import { servePage } from '../page/server.ts'
import { socketWindows } from '../router/index.ts'
import { runBar } from '../run-bar.ts'
import { RunLines } from '../run-lines.ts'
import { Services } from '../services.ts'
import { writeSessionResults } from '../session-results.ts'
import { askedToEnd } from '../until-ended.ts'
import { hostileOption } from './hostile-option.ts'

interface DemoOptions {
  out: string
  scenario: ScenarioName
  hostile: HostileCase
  seed: number
  speed: number
  port: number
  once: boolean
  serial: boolean
  bus: LabBus
  signed: boolean
}

/** An evening of the demo's own calendar, so that the same seed tells the same story. */
const EVENING = Date.UTC(2026, 2, 12, 17, 30) * 1000
/** Pace at which a night is watched comfortably. */
const WATCHING_SPEED = 350

const HELP = `A simulated laboratory answers on loopback sockets and the station runs a night's plan on it. Nothing here is a real
instrument; with a real bath, an independent cut-out belongs on it, and local codes and licensed practice come first.

The results folder holds the session file, readings.csv, points.csv, report.html, report.pdf, results.json and
certificates, PDF and XML of each item. A scenario that compares nothing (a cell, a bridge's resistors) is recorded without a plan and gives the
session file and readings.csv; "stillpoint check" goes on from there.`

export function demoCommand(): Command {
  return new Command('demo')
    .option('--out <folder>', 'where the results go', 'results')
    .addOption(new Option('--scenario <name>', 'what the lab holds').choices(SCENARIO_NAMES).default('demo'))
    .addOption(hostileOption())
    .option('--seed <n>', 'which laboratory and which night', wholeNumber(0, 2 ** 31), 1)
    .option(
      '--speed <x>',
      'times as fast as the wall clock; "max" for as fast as the work goes',
      speed,
      WATCHING_SPEED,
    )
    .option('--port <n>', 'port of the page; 0 for any free one', port, 0)
    .option('--once', 'end when the results are written', false)
    .option(
      '--signed',
      'sign the report off, with a key and time stamps of a trial authority made on the spot',
      false,
    )
    .addOption(
      new Option('--bus <bus>', 'what the instruments are reached by').choices(LAB_BUSES).default('tcp'),
    )
    .option('--serial', 'the same as --bus serial (needs socat)', false)
    .addHelpText('after', `\n${HELP}`)
    .action(demo)
}

async function demo(options: DemoOptions): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-demo-'))
  const out = resolve(options.out)
  const bus = options.serial ? 'serial' : options.bus
  const stay = process.stdout.isTTY && !options.once
  const clock = new VirtualClock({
    startUtcUs: EVENING,
    speed: options.speed,
  })
  const hosted = await openHostedStation({ folder, clock, clockKind: 'virtual' })
  const services = new Services(hosted)
  const { station, store } = hosted
  let page: Awaited<ReturnType<typeof servePage>> | undefined
  try {
    store.saveSettings(services.settings({ laboratory: LAB_LABORATORY }), 'demo')
    services.lab = await placeLab(store, clock, {
      seed: options.seed,
      scenario: options.scenario,
      bus,
      hostile: options.hostile,
    })
    for (const { id, link } of services.lab.endpoints) {
      console.log(`${id.padEnd(8)} answers on ${linkWords(link)}`)
    }
    // The demonstration asks for nobody: whoever watches it is its invented metrologist.
    services.people.practise(OPERATOR)
    await station.open()
    page = await servePage({
      folder: ensurePage(),
      port: options.port,
      ...socketWindows(services),
    })
    console.log(`\nWatch it: ${page.address}\n`)

    station.chooseBench(services.lab.bench.id, OPERATOR)
    const hours = recordingHours(SCENARIOS[options.scenario])
    if (hours === undefined) {
      const night = planFor(station)
      const items = placeOrders(services, services.lab.bench, night.plan, OPERATOR)
      await measureItems(services, items, { ...night, operator: OPERATOR, name: 'Overnight comparison' })
    } else {
      await station.record({ operator: OPERATOR, name: SCENARIOS[options.scenario].title })
      clock.after(hours * 3_600_000, () => station.stop(OPERATOR))
    }
    const ended = askedToEnd()
    const told = process.stdout.isTTY ? runBar(station) : new RunLines(station)
    const outcome = await Promise.race([station.finished, ended])
    told.dispose()
    if (typeof outcome === 'string') {
      console.log('\nStopped before the plan had ended; no results were written.')
      process.exitCode = 130
      return
    }
    console.log(`\n${outcome.ending.replaceAll('-', ' ')}: ${outcome.reason}`)
    await writeResults(services, outcome.session, out, options.signed)
    if (stay) {
      console.log(`\nThe page stays open at ${page.address}\nEnd it with Ctrl-C.`)
      await ended
    }
  } finally {
    // A refusal on the way must not leave the page's socket open: the program would never end.
    await page?.close()
    await services.close()
    await hosted.close()
    clock.stop()
  }
}

async function writeResults(
  services: Services,
  session: string,
  out: string,
  signed: boolean,
): Promise<void> {
  const place = relative(process.cwd(), out) || '.'
  try {
    const done = signed ? await signDemo(services, session) : null
    if (done) console.log(`\n${done.words}`)
    const files = await writeSessionResults(services, session, out)
    if (done) files.push(writeRoot(out, done.rootPem))
    console.log(`\nResults in ${place}:`)
    for (const file of files) console.log(`  ${relative(out, file)}`)
  } catch (fault) {
    if (!(fault instanceof ComparisonError)) throw fault
    console.log(`\nThe session and its readings are in ${place}. There is no report: ${fault.message}`)
  }
}

const OPERATOR = 'M. Tarn'
