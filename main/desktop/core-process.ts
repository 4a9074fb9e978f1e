import { mkdirSync } from 'node:fs'
import type { MessagePortMain } from 'electron'
import { openHostedStation } from '../host/open-station.ts'
import { portWindows } from '../host/router/index.ts'
import { Services } from '../host/services.ts'
import { RealClock } from '../station/clocks/real.ts'
import type { CoreMessage } from './supervisor.ts'

// The station core on the desktop: a utility process that measures and stores, whatever happens to the window.

type ShellMessage =
  | { kind: 'window' }
  | { kind: 'ping'; n: number }
  | { kind: 'stop' }
  | { kind: 'stop-session'; why: string }
  | { kind: 'power'; what: 'suspend' | 'resume' | 'shutdown' }
  | { kind: 'secret'; name: string; value: string | null }

const { parentPort } = process as unknown as {
  parentPort: {
    on(event: 'message', listener: (event: { data: ShellMessage; ports: MessagePortMain[] }) => void): void
    postMessage(message: CoreMessage): void
  }
}
const tell = (message: CoreMessage) => parentPort.postMessage(message)

const dataAt = process.argv.indexOf('--data')
const folder = process.argv[dataAt + 1]
if (dataAt < 0 || folder === undefined) throw new Error('The core needs --data FOLDER.')
mkdirSync(folder, { recursive: true })

const hosted = await openHostedStation({ folder, clock: new RealClock(), clockKind: 'real' })
const services = new Services(hosted)
const joinWindow = portWindows(services)
const { station, log } = hosted

// A fault nobody caught: the store is closed as it stands and the shell starts a new core, which takes the session up.
process.on('uncaughtException', (fault) => void fail(fault))
process.on('unhandledRejection', (fault) => void fail(fault))

async function fail(fault: unknown): Promise<never> {
  log.error({ fault }, 'the core ends on a fault')
  await hosted.close().catch(() => undefined)
  process.exit(1)
}

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

parentPort.on('message', ({ data, ports }) => {
  switch (data.kind) {
    case 'window': {
      const port = ports[0]
      if (!port) return
      joinWindow(port as never)
      port.start()
      return
    }
    case 'ping':
      tell({ kind: 'pong', n: data.n })
      return
    case 'stop-session':
      if (station.session) station.stop('the person at the window', data.why)
      return
    case 'power':
      log.info({ what: data.what }, 'the computer')
      if (station.session) station.note('station', `The computer reports: ${data.what}.`)
      return
    case 'secret':
      if (data.value !== null) process.env.STILLPOINT_SMTP_PASSWORD = data.value
      return
    case 'stop':
      void end()
  }
})

/** A session that is being stopped safely is let finish; any other stays open and is taken up at the next start. */
async function end(): Promise<void> {
  const phase = station.state().runner.phase
  if (station.session && (phase === 'stopping' || phase === 'finishing')) await station.finished
  await services.close()
  await hosted.close()
  tell({ kind: 'stopped' })
  process.exit(0)
}

tell({ kind: 'need-secret', name: 'smtp-password' })
await station.open()
if (!station.session && station.bench) await station.connect()
tell({ kind: 'ready' })
