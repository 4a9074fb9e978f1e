import { type ChildProcess, execFileSync, spawn } from 'node:child_process'
import { once } from 'node:events'
import {
  chmodSync,
  chownSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs'
import { type AddressInfo, connect, createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

export async function freePort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1')
  await once(server, 'listening')
  const { port } = server.address() as AddressInfo
  server.close()
  await once(server, 'close')
  return port
}

async function answers(port: number): Promise<void> {
  for (let attempt = 0; attempt < 200; attempt++) {
    const socket = connect(port, '127.0.0.1')
    const open = await new Promise<boolean>((resolve) => {
      socket.once('connect', () => resolve(true))
      socket.once('error', () => resolve(false))
    })
    socket.destroy()
    if (open) return
    await new Promise((resolve) => setTimeout(resolve, 50))
  }
  throw new Error(`nothing answers on port ${port}`)
}

/** A server leads a group of processes of its own, which is stopped as one. */
function holder(child: () => ChildProcess | undefined): { freeze(): void; thaw(): void } {
  return {
    freeze: () => void process.kill(-child()!.pid!, 'SIGSTOP'),
    thaw: () => void process.kill(-child()!.pid!, 'SIGCONT'),
  }
}

async function end(child: ChildProcess, signal: NodeJS.Signals): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return
  const gone = once(child, 'exit')
  child.kill(signal)
  await gone
}

/** A server of a test on loopback that can be taken away and brought back. */
export interface TestServer {
  readonly port: number
  start(): Promise<void>
  stop(): Promise<void>
  /** Holds every process of it still: connections stay open and nothing answers. */
  freeze(): void
  thaw(): void
  remove(): Promise<void>
}

const MOSQUITTO = ['/usr/sbin/mosquitto', '/usr/local/sbin/mosquitto'].find(existsSync)

export const mosquittoMissing = MOSQUITTO === undefined ? 'mosquitto is not installed here' : undefined

/** `lasting`: it ends in order and keeps what it has accepted for listeners that are away. */
export async function mosquitto(lasting = false): Promise<TestServer> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-mqtt-'))
  const port = await freePort()
  const config = join(folder, 'mosquitto.conf')
  writeFileSync(
    config,
    `listener ${port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\nuser root\n` +
      (lasting ? `persistence true\npersistence_location ${folder}/\n` : ''),
  )
  let child: ChildProcess | undefined
  const stop = async () => {
    if (child) await end(child, lasting ? 'SIGTERM' : 'SIGKILL')
  }
  const { freeze, thaw } = holder(() => child)
  return {
    port,
    stop,
    freeze,
    thaw,
    async start() {
      child = spawn(MOSQUITTO!, ['-c', config], { stdio: 'ignore', detached: true })
      await answers(port)
    },
    async remove() {
      await stop()
      rmSync(folder, { recursive: true, force: true })
    },
  }
}

const POSTGRES = existsSync('/usr/lib/postgresql')
  ? readdirSync('/usr/lib/postgresql')
      .map((version) => join('/usr/lib/postgresql', version, 'bin'))
      .find((folder) => existsSync(join(folder, 'initdb')))
  : undefined
const isRoot = process.getuid?.() === 0

function userFor(): { uid: number; gid: number } | undefined {
  // The server refuses to run as root: it runs as the least user there is.
  if (!isRoot) return undefined
  const [, uid, gid] = /^nobody:[^:]*:(\d+):(\d+):/m.exec(readFileSync('/etc/passwd', 'utf8'))!
  return { uid: Number(uid), gid: Number(gid) }
}

export const postgresMissing = POSTGRES === undefined ? 'PostgreSQL is not installed here' : undefined

export async function postgres(): Promise<TestServer & { url: string }> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-pg-'))
  const data = join(folder, 'data')
  const port = await freePort()
  const user = userFor()
  mkdirSync(data)
  chmodSync(folder, 0o755)
  if (user) chownSync(data, user.uid, user.gid)
  const options = { stdio: 'ignore' as const, cwd: data, ...user }
  execFileSync(
    join(POSTGRES!, 'initdb'),
    ['-D', data, '-U', 'lab', '--auth=trust', '-E', 'UTF8', '--locale=C', '-N'],
    options,
  )
  let child: ChildProcess | undefined
  const stop = async () => {
    if (child) await end(child, 'SIGINT')
  }
  const { freeze, thaw } = holder(() => child)
  return {
    port,
    stop,
    freeze,
    thaw,
    url: `postgres://lab@127.0.0.1:${port}/postgres`,
    async start() {
      rmSync(join(data, 'postmaster.pid'), { force: true })
      child = spawn(
        join(POSTGRES!, 'postgres'),
        ['-D', data, '-p', String(port), '-c', 'listen_addresses=127.0.0.1', '-k', data, '-F'],
        { ...options, detached: true },
      )
      await answers(port)
    },
    async remove() {
      await stop()
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
