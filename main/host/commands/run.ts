import { mkdirSync } from 'node:fs'
import { resolve } from 'node:path'
import { Command } from 'commander'
import { mayDo, RIGHT_WORDS } from '../../../app/records/person.ts'
import { RealClock } from '../../station/clocks/real.ts'
import type { Finished } from '../../station/station.ts'
import type { StationStore } from '../../store/station-store.ts'
import { ensurePage } from '../built.ts'
import { defaultDataFolder } from '../data-folder.ts'
import { openHostedStation } from '../open-station.ts'
import { port, WrongOption } from '../options.ts'
import { servePage } from '../page/server.ts'
import { readPlan } from '../plan-file.ts'
import { socketWindows } from '../router/index.ts'
import { RunLines } from '../run-lines.ts'
import { Services } from '../services.ts'
import { writeSessionResults } from '../session-results.ts'
import { askedToEnd } from '../until-ended.ts'

const STATUS: Record<Finished['ending'], number> = {
  complete: 0,
  'complete-with-marks': 3,
  'stopped-safely': 4,
  'stopped-by-person': 5,
}

const HELP = `PLAN is a JSON file, or the id of a plan that the station keeps. The bench is the one that the station uses.

Exit status: 0 complete, 3 complete with marks, 4 stopped safely, 5 stopped by a person, 1 could not be run, 2 bad arguments.
Ctrl-C stops the plan safely: the bath goes to its safe setpoint and the record is closed.

Hot oil burns and can ignite. The station is not a safety device: an independent cut-out belongs on the bath, and local
codes and licensed practice come first.`

interface RunOptions {
  data: string
  operator: string
  out?: string
  accept: string[]
  port?: number
}

export function runCommand(): Command {
  return new Command('run')
    .argument('<plan>', 'plan file, or the id of a stored plan')
    .requiredOption('--operator <name>', 'who answers for this run')
    .option('--data <folder>', 'where the station keeps its records', defaultDataFolder())
    .option('--out <folder>', 'write the results there when the plan has ended')
    .option('--accept <ids...>', 'warnings of the preview that are taken on, by their ids', [])
    .option('--port <n>', 'also serve the page on this port', port)
    .addHelpText('after', `\n${HELP}`)
    .action(async (plan: string, options: RunOptions) => {
      const folder = resolve(options.data)
      mkdirSync(folder, { recursive: true, mode: 0o700 })
      const hosted = await openHostedStation({ folder, clock: new RealClock(), clockKind: 'real' })
      const services = new Services(hosted)
      const { station } = hosted
      try {
        const page =
          options.port === undefined
            ? undefined
            : await servePage({ folder: ensurePage(), port: options.port, ...socketWindows(services) })
        if (page) console.log(`The page: ${page.address}`)
        const operator = operatorOf(hosted.store, options.operator)
        const resumed = await station.open()
        if (resumed) console.log(`Session ${resumed} was open and goes on, with the gap in its record.`)
        else {
          await station.startPlan({
            plan: await readPlan(plan),
            operator,
            accept: options.accept,
          })
        }
        const lines = new RunLines(station)
        void askedToEnd().then((signal) => station.stop(operator, `asked to end (${signal})`))
        const { ending, reason, session } = await station.finished
        lines.dispose()
        console.log(`${session}: ${ending.replaceAll('-', ' ')}. ${reason}`)
        if (options.out !== undefined) {
          for (const file of await writeSessionResults(services, session, resolve(options.out)))
            console.log(file)
        }
        await services.backups.caughtUp()
        process.exitCode = STATUS[ending]
        await page?.close()
      } finally {
        await services.close()
        await hosted.close()
      }
    })
}

/** Where people are known, one of them who may answers for the run. */
function operatorOf({ people }: StationStore, name: string): string {
  if (!people.known) return name
  const person = people.named(name)
  if (!mayDo(person, 'operate'))
    throw new WrongOption(
      `--operator: ${name} is nobody who may ${RIGHT_WORDS.operate} at this station. "stillpoint people list" tells who may.`,
    )
  return person!.name
}
