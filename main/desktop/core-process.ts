import { mkdirSync } from 'node:fs'
import type { MessagePortMain } from 'electron'
import { needed } from '../../app/base/lists.ts'
import { startVisaBy } from '../../drivers/link/visa-peer.ts'
import { endOnFault } from '../host/end-on-fault.ts'
import { openHostedStation } from '../host/open-station.ts'
import { portWindows } from '../host/router/index.ts'
import { selfTest } from '../host/self-test.ts'
import { Services } from '../host/services.ts'
import { KEY_PASSWORD_VARIABLE } from '../host/signing-desk.ts'
import { endStation } from '../host/station-end.ts'
import { RealClock } from '../station/clocks/real.ts'
import { NOTHING_DUE } from '../station/pulse.ts'
import type { Station } from '../station/station.ts'
import { onStopRequest } from '../station/stop-request.ts'
import { type CoreMessage, SELF_TEST } from './supervisor.ts'
import { VisaChannels, type VisaNews } from './visa-channels.ts'

// The station core on the desktop: a utility process that measures and stores, whatever happens to the window.

type ShellMessage =
  | { kind: 'window' }
  | { kind: 'ping'; n: number }
  | { kind: 'stop' }
  | { kind: 'stop-session'; why: string }
  | { kind: 'power'; what: 'suspend' | 'resume' | 'shutdown' }
  | { kind: 'secret'; name: string; value: string | null }
  | VisaNews

const { parentPort } = process as unknown as {
  parentPort: {
    on(event: 'message', listener: (event: { data: ShellMessage; ports: MessagePortMain[] }) => void): void
    postMessage(message: CoreMessage): void
  }
}
const tell = (message: CoreMessage) => parentPort.postMessage(message)

/** Where the station looks for each password, in the memory of this process alone. */
const SECRET_VARIABLES: Readonly<Record<string, string>> = {
  'smtp-password': 'STILLPOINT_SMTP_PASSWORD',
  'key-password': KEY_PASSWORD_VARIABLE,
}

/** A shell that keeps no passwords must not keep the station from starting. */
const SECRET_WAIT_MS = 3000
/** What was told last needs a moment to leave the process. */
const LEAVE_MS = 200

const visa = new VisaChannels(tell)
startVisaBy(visa.start)

let station: Station | undefined
const secret = Promise.withResolvers<void>()
const opened = open()

async function open() {
  const dataAt = process.argv.indexOf('--data')
  const folder = process.argv[dataAt + 1]
  if (dataAt < 0 || folder === undefined) throw new Error('The core needs --data FOLDER.')
  tell({ kind: 'need-secret', name: 'smtp-password' })
  const patience = setTimeout(secret.resolve, SECRET_WAIT_MS)
  await secret.promise
  clearTimeout(patience)
  mkdirSync(folder, { recursive: true, mode: 0o700 })
  const hosted = await openHostedStation({ folder, clock: new RealClock(), clockKind: 'real' })
  station = hosted.station
  const services = new Services(hosted)
  return { hosted, services, joinWindow: portWindows(services) }
}

parentPort.on('message', ({ data, ports }) => {
  switch (data.kind) {
    case 'ping':
      tell({ kind: 'pong', n: data.n, ...(station?.pulse() ?? NOTHING_DUE) })
      return
    case 'visa-channel':
    case 'visa-ended':
      visa.hear(data, ports)
      return
    case 'secret':
      if (data.value !== null)
        process.env[needed(SECRET_VARIABLES[data.name], `variable for ${data.name}`)] = data.value
      // The station opens with the first; the signing key's is not needed before somebody signs.
      if (data.name === 'smtp-password') {
        tell({ kind: 'need-secret', name: 'key-password' })
        secret.resolve()
      }
      return
    default:
      opened.then(
        (core) => obey(core, data, ports),
        () => undefined,
      )
  }
})

type Core = Awaited<ReturnType<typeof open>>

function obey(core: Core, data: ShellMessage, ports: MessagePortMain[]): void {
  const { station, log } = core.hosted
  switch (data.kind) {
    case 'window': {
      const port = ports[0]
      if (!port) return
      core.joinWindow(port)
      port.start()
      return
    }
    case 'stop-session':
      if (station.session) station.stop('the person at the window', data.why)
      return
    case 'power':
      if (data.what === 'shutdown') shutdown = true
      log.info({ what: data.what }, 'the computer')
      if (station.session) station.note('station', `The computer reports: ${data.what}.`)
      return
    case 'stop':
      void end(core)
  }
}

/** The computer is being shut down; the end that follows must see to people and bath first. */
let shutdown = false

async function end({ hosted, services }: Core): Promise<void> {
  await endStation(hosted, services, {
    why: shutdown ? 'the computer is shut down' : 'the program was quit',
    shutdown,
    onLeaving: (words) => tell({ kind: 'leaving', words }),
  })
  tell({ kind: 'stopped' })
  process.exit(0)
}

/** Tells the shell whatever it must know of the station without asking. */
function report({ station }: Core['hosted']): void {
  let running: string | null = null
  station.onDidChange.on(() => {
    const session = station.session?.info.id ?? null
    if (session === running) return
    running = session
    tell({ kind: 'running', session })
  })
  station.alarms.onDidChange.on(({ what, alarm }) => {
    if (what === 'raised' && alarm.severity !== 'notice')
      tell({ kind: 'notice', title: 'Stillpoint', body: alarm.words })
  })
}

const core = await opened.catch((fault: unknown) => {
  // A folder in use or a disk that cannot be written: starting again would end the same way.
  tell({ kind: 'refused', words: fault instanceof Error ? fault.message : String(fault) })
  setTimeout(() => process.exit(1), LEAVE_MS)
  return undefined
})
if (core) {
  const { hosted } = core
  endOnFault(hosted)
  report(hosted)
  onStopRequest(hosted.folder, ({ safely }) => tell({ kind: 'asked-to-stop', safely }))
  await hosted.station.open()
  if (!hosted.station.session && hosted.station.bench) await hosted.station.connect()
  tell({ kind: 'ready' })
  if (process.argv.includes(SELF_TEST))
    selfTest(core.services).then(
      (words) => tell({ kind: 'self-tested', good: true, words }),
      (fault: Error) => tell({ kind: 'self-tested', good: false, words: fault.stack ?? fault.message }),
    )
}
