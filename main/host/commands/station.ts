import { fstatSync, mkdirSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { Command } from 'commander'
import pino from 'pino'
import { RealClock } from '../../station/clocks/real.ts'
import { onStopRequest, type StopRequest } from '../../station/stop-request.ts'
import { CORE_FLAGS, superviseCore } from '../../station/watchdog.ts'
import { writeThenRename } from '../../store/export/file.ts'
import { ensurePage } from '../built.ts'
import { defaultDataFolder } from '../data-folder.ts'
import { endOnFault } from '../end-on-fault.ts'
import { openHostedStation } from '../open-station.ts'
import { port, WrongOption } from '../options.ts'
import { type Beyond, type PageOptions, type PageServer, servePage } from '../page/server.ts'
import { socketWindows } from '../router/index.ts'
import { systemStops } from '../service/system-stops.ts'
import { Services } from '../services.ts'
import { endStation, stopSafely } from '../station-end.ts'
import { askedToEnd } from '../until-ended.ts'
import { type BeyondOptions, readBeyond } from './beyond.ts'

interface StationCommandOptions extends BeyondOptions {
  data: string
  port: number
  connect: boolean
  watchdog: boolean
  keyFile?: string
}

const HELP = `The page listens on this computer alone and needs the key in the printed address. Others on the network are let in
only with --listen, a TLS key and certificate, and then sign in with name and password.

A session that was open when the station ended is taken up again, with the gap in its record. With --watchdog a station that
crashes or hangs is started again by itself.
The station is not a safety device: an independent cut-out belongs on every bath.`

export function stationCommand(): Command {
  return new Command('station')
    .option('--data <folder>', 'where the station keeps its records', defaultDataFolder())
    .option('--port <n>', 'port of the page; 0 for any free one', port, 8120)
    .option('--watchdog', 'start the station again when it crashes or hangs', false)
    .option('--no-connect', 'do not connect to the instruments at the start')
    .option('--listen <address>', 'also for others on the network; needs --name, --tls-key and --tls-cert')
    .option('--name <host...>', 'host names under which others reach this computer', [])
    .option('--tls-key <file>', 'private key, PEM')
    .option('--tls-cert <file>', 'certificate, PEM')
    .option('--listen-port <n>', 'port for others; 0 for any free one', port, 8121)
    .option('--key-file <file>', "write the page's address with its key there and do not print it")
    .addHelpText('after', `\n${HELP}`)
    .action(async (options: StationCommandOptions) => {
      if (options.watchdog) {
        process.exitCode = await underWatch()
        return
      }
      const folder = resolve(options.data)
      const beyond = await readBeyond(options)
      mkdirSync(folder, { recursive: true, mode: 0o700 })
      const hosted = await openHostedStation({ folder, clock: new RealClock(), clockKind: 'real' })
      const services = new Services(hosted)
      const pages: PageServer[] = []
      const serve = async (more: Pick<PageOptions, 'port' | 'beyond'>) => {
        const page = await servePage({ folder: ensurePage(), ...socketWindows(services), ...more }).catch(
          (fault: Error) => {
            throw new WrongOption(fault.message)
          },
        )
        pages.push(page)
        return page
      }
      const closePages = async () => {
        await Promise.all(pages.splice(0).map((one) => one.close()))
      }
      let outside: PageServer | undefined
      let page: PageServer
      try {
        page = await serve({ port: options.port })
        const signIn: Beyond['signIn'] = async (name, password, from) =>
          (await services.people.check(name, password, from))?.id
        outside = beyond && (await serve({ port: options.listenPort, beyond: { ...beyond, signIn } }))
      } catch (fault) {
        // What was asked for cannot be had: nothing is held.
        await closePages()
        await services.close()
        await hosted.close()
        throw fault
      }
      endOnFault(hosted)
      const resumed = await hosted.station.open()
      if (resumed) console.log(`Session ${resumed} was open and goes on, with the gap in its record.`)
      else if (options.connect && hosted.station.bench) await hosted.station.connect()
      tellAddresses(page, options.keyFile ?? (inJournal() ? join(folder, 'page-key.txt') : undefined))
      if (outside) {
        console.log(`From elsewhere:         ${outside.address} (people sign in there)`)
        if (!services.store.people.known)
          console.log(
            'Nobody has been entered yet: enter the first person at this computer, then others can sign in.',
          )
      }
      console.log(`Records:                ${folder}`)
      console.log('End it with Ctrl-C; an open session then stays open and is taken up at the next start.')
      const asked = await Promise.race([
        askedToEnd(),
        new Promise<StopRequest>((resolve) => onStopRequest(folder, resolve)),
      ])
      if (typeof asked === 'object' && asked.safely) stopSafely(hosted, asked.who, 'Asked to stop safely.')
      let told = ''
      await endStation(hosted, services, {
        why: typeof asked === 'object' ? `${asked.who} asked it to` : asked,
        shutdown: asked === 'SIGTERM' && systemStops(),
        onLeaving: (words) => {
          if (words !== told) console.log(`Ending: ${words}`)
          told = words
        },
        beforeClose: closePages,
      })
    })
}

/**
 * Whether what is printed is kept by the system's journal, where others may read it. The variable is inherited by whatever
 * a service starts, a terminal say, so it counts only where it names this very output (systemd.exec(5)).
 */
function inJournal(): boolean {
  const { dev, ino } = fstatSync(process.stdout.fd)
  return process.env.JOURNAL_STREAM === `${dev}:${ino}`
}

/** The addresses hold keys: printed for the person at the terminal, or written to a file that its owner alone can read. */
function tellAddresses({ address, watcherAddress }: PageServer, keyFile: string | undefined): void {
  const lines = `The station runs. Its page: ${address}\nTo look only:           ${watcherAddress}`
  if (keyFile === undefined) {
    console.log(lines)
    return
  }
  writeThenRename(resolve(keyFile), (out) => out.write(`${lines}\n`), 0o600)
  console.log(`The station runs. The addresses of its page, with their keys: ${resolve(keyFile)}`)
}

/** The same command without the option, in a process of its own that is looked after until it ends by itself. */
async function underWatch(): Promise<number> {
  const args = process.argv.slice(1).filter((argument) => argument !== '--watchdog')
  const watched = superviseCore({
    command: process.execPath,
    args: [...CORE_FLAGS, ...args],
    log: pino({ base: null, timestamp: pino.stdTimeFunctions.isoTime }, pino.destination(2)),
  })
  void askedToEnd().then(() => watched.stop())
  return watched.ended
}
