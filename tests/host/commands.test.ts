import { type ChildProcessWithoutNullStreams, spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import {
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  readlinkSync,
  rmSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { ensurePage } from '../../main/host/built.ts'
import { openHostedStation } from '../../main/host/open-station.ts'
import { Services } from '../../main/host/services.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import type { Lab } from '../../simulator/lab.ts'

// Every command as a person calls it: a process of its own, its output and its exit status.

const root = join(import.meta.dirname, '../..')
const cli = join(root, 'main/host/cli.ts')
const door = join(root, 'main/host/stillpoint.mjs')
/** What the program itself lists, so that a new command is tried as well. */
const COMMANDS = [
  ...spawnSync(process.execPath, [cli, '--help'], { encoding: 'utf8' }).stdout.matchAll(
    /^ {2}([a-z]+) {2,}/gm,
  ),
].map(([, name]) => name!)

let folder: string
const running: ChildProcessWithoutNullStreams[] = []

interface Ended {
  status: number | null
  out: string
  err: string
}

function call(...args: string[]): Ended {
  const { status, stdout, stderr } = spawnSync(process.execPath, [cli, ...args], {
    encoding: 'utf8',
    cwd: folder,
    timeout: 60_000,
  })
  return { status, out: stdout, err: stderr }
}

/** A command that stays: its output so far, and waiting for a line of it. */
const WINDOWS = process.platform === 'win32'

class Started {
  readonly child: ChildProcessWithoutNullStreams
  out = ''
  err = ''
  readonly #ended: Promise<unknown>

  constructor(args: string[], program = [process.execPath, cli]) {
    this.child = spawn(program[0]!, [...program.slice(1), ...args], { cwd: folder })
    running.push(this.child)
    this.child.stdout.on('data', (text: Buffer) => {
      this.out += String(text)
    })
    this.child.stderr.on('data', (text: Buffer) => {
      this.err += String(text)
    })
    this.#ended = once(this.child, 'close')
  }

  async saying(pattern: RegExp, withinMs = 30_000): Promise<RegExpExecArray> {
    const until = Date.now() + withinMs
    while (Date.now() < until) {
      const found = pattern.exec(this.out)
      if (found) return found
      if (this.child.exitCode !== null) break
      await new Promise((resolve) => setTimeout(resolve, 50))
    }
    throw new Error(`never said ${pattern}; said:\n${this.out}\n${this.err}`)
  }

  async end(signal?: NodeJS.Signals): Promise<number | null> {
    if (signal) this.child.kill(signal)
    await this.#ended
    return this.child.exitCode
  }
}

const ADDRESS = /http:\/\/127\.0\.0\.1:(\d+)\/#token=([\w-]+)/

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-commands-'))
  ensurePage()
}, 120_000)
afterEach(() => {
  for (const child of running.splice(0)) child.kill('SIGKILL')
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

describe('stillpoint', () => {
  it('lists every command, and tells its version', () => {
    const { status, out } = call('--help')
    expect(status).toBe(0)
    expect(COMMANDS.length).toBeGreaterThanOrEqual(15)
    for (const name of COMMANDS) expect(out).toMatch(new RegExp(`^  ${name} +\\w`, 'm'))
    expect(call('--version').out).toMatch(/^\d+\.\d+\.\d+\n$/)
  })

  it.each(COMMANDS)('%s tells with --help what it takes', (name) => {
    const { status, out, err } = call(name, '--help')
    expect(status).toBe(0)
    expect(out).toMatch(new RegExp(`^Usage: stillpoint ${name} `))
    expect(err).toBe('')
  })

  it.each([
    [['nothing'], /there is no command "nothing"/],
    [['nothing', 'at', '--all'], /there is no command "nothing"/],
    [['help', 'nothing'], /there is no command "nothing"/],
    [['--nowhere'], /--nowhere/],
    ...['station', 'lab', 'budget', 'profile'].map((name) => [[name, '--nowhere'], /--nowhere/] as const),
    [['demo', '--speed', '0'], /--speed.*above 0/],
    [['demo', '--seed', 'x'], /--seed.*whole number/],
    [['station', '--port', '70000'], /--port.*0 to 65535/],
    [['station', 'extra'], /too many arguments/],
    [['run', 'plan.json'], /--operator/],
    [['run', '--operator', 'A. Person'], /missing required argument 'plan'/],
    [['lab', '--scenario', 'moon'], /--scenario/],
    [['verify'], /missing required argument/],
    [['station', '--listen', '127.0.0.1'], /--listen needs --name, --tls-key and --tls-cert/],
  ] as const)('%j is refused with status 2 and one clear line', (args, words) => {
    const { status, out, err } = call(...args)
    expect(err).toMatch(/^stillpoint: [^\n]+\n$/)
    expect(err).toMatch(words)
    expect(status).toBe(2)
    expect(out).toBe('')
  })

  it.each([
    [
      ['run', 'nowhere.json', '--operator', 'A. Person', '--data', 'run-nowhere'],
      /nowhere\.json cannot be read/,
    ],
    [['run', 'no-such-plan', '--operator', 'A. Person', '--data', 'run-none'], /no-such-plan/],
    [['verify', 'nowhere.stillpoint'], /nowhere/],
    [['prove', 'nowhere.stillpoint'], /nowhere/],
  ] as const)('%j fails with status 1 and one line that says what to do', (args, words) => {
    const { status, err } = call(...args)
    expect(err).toMatch(/^stillpoint: [^\n]+\n$/)
    expect(err).toMatch(words)
    expect(status).toBe(1)
  })
})

describe('stillpoint station', () => {
  it('prints its address, refuses a second one on the same folder in words, and ends when it is asked to', async () => {
    const data = join(folder, 'station')
    const first = new Started(['station', '--data', data, '--port', '0'])
    const [address, port, token] = await first.saying(ADDRESS)
    const answer = await fetch(address)
    expect(answer.status).toBe(200)
    const opened = await fetch(`http://127.0.0.1:${port}/session`, {
      method: 'POST',
      headers: { Origin: `http://127.0.0.1:${port}` },
      body: JSON.stringify({ token }),
    })
    expect(opened.status).toBe(200)

    const second = call('station', '--data', data, '--port', '0')
    expect(second.status).toBe(1)
    expect(second.err).toMatch(/^stillpoint: [^\n]+\n$/)
    expect(second.err).toMatch(/station/)

    // A signal from another program ends a process of Windows unheard; there a request does.
    if (WINDOWS) call('stop', '--data', data)
    expect(await first.end(WINDOWS ? undefined : 'SIGTERM')).toBe(0)
    expect(first.err).toBe('')
    for (const name of readdirSync(join(data, 'log'))) {
      const log = readFileSync(join(data, 'log', name), 'utf8')
      expect(log).not.toContain(token)
    }
  }, 90_000)

  it.runIf(process.platform === 'linux')(
    'listens on loopback alone',
    async () => {
      const station = new Started(['station', '--data', join(folder, 'listening'), '--port', '0'])
      const [, port] = await station.saying(ADDRESS)
      const listening = listeningSockets(station.child.pid!)
      expect(listening).toEqual([`0100007F:${Number(port).toString(16).toUpperCase().padStart(4, '0')}`])
      expect(await station.end('SIGINT')).toBe(0)
    },
    60_000,
  )
})

/** Local ends (hex address:port) of the listening sockets that a process holds, from the kernel's own tables. */
function listeningSockets(pid: number): string[] {
  const own = new Set(
    readdirSync(`/proc/${pid}/fd`).flatMap((fd) => {
      try {
        return /^socket:\[(\d+)\]$/.exec(readlinkSync(`/proc/${pid}/fd/${fd}`))?.[1] ?? []
      } catch {
        return []
      }
    }),
  )
  const LISTEN = '0A'
  return ['tcp', 'tcp6'].flatMap((table) =>
    readFileSync(`/proc/${pid}/net/${table}`, 'utf8')
      .split('\n')
      .slice(1)
      .map((line) => line.trim().split(/\s+/))
      .filter((columns) => columns[3] === LISTEN && own.has(columns[9] ?? ''))
      .map((columns) => columns[1]!),
  )
}

describe('stillpoint run', () => {
  /** A plan so loose that a lab on fast time meets it within seconds of the wall clock. */
  const PLAN = {
    id: 'short',
    name: 'One loose point',
    setpoints: [{ celsius: 25 }],
    settling: { windowS: 8, driftMkPerMin: 1e7, spreadMk: 1e6, bandK: 500, holdS: 0 },
    order: 'sequence',
    cycles: 1,
    maxWaitS: 30,
  }
  const LAB_SPEED = '10'

  /** A station's folder whose bench is the lab of another process. */
  async function folderFor(lab: Pick<Lab, 'bench' | 'paperwork'>, data: string): Promise<void> {
    const hosted = await openHostedStation({ folder: data, clock: new RealClock(), clockKind: 'real' })
    const services = new Services(hosted)
    const { store, station } = hosted
    const { thermometers, resistors, instruments, fluids } = lab.paperwork
    for (const entry of thermometers) store.saveThermometer(entry, 'test', '')
    for (const entry of resistors) store.saveResistor(entry, 'test', '')
    for (const entry of instruments) store.saveInstrument(entry, 'test', '')
    for (const entry of fluids) store.saveFluid(entry, 'test', '')
    // Two thermometers that are read at once: a scan of a second in place of half a minute.
    const channels = lab.bench.channels.slice(0, 2).map((each) => ({ ...each, settleMs: 20, average: 1 }))
    store.saveBench({ ...lab.bench, channels }, 'test', '')
    station.chooseBench(lab.bench.id, 'test')
    await services.close()
    await hosted.close()
  }

  it('runs a plan unattended on a lab in another process, writes the results, and says in its status how it ended', async () => {
    const lab = new Started(['lab', '--json', '--ports', '0', '--speed', LAB_SPEED])
    const [line] = await lab.saying(/^\{.*\}$/m)
    const data = join(folder, 'unattended')
    await folderFor(JSON.parse(line) as Lab, data)
    writeFileSync(join(folder, 'plan.json'), JSON.stringify(PLAN))
    const run = new Started([
      ...['run', 'plan.json', '--operator', 'A. Person', '--data', data, '--out', join(folder, 'run-out')],
    ])
    const status = await run.end()
    expect([0, 3], `${run.out}\n${run.err}`).toContain(status)
    expect(run.out).toMatch(status === 0 ? /: complete\. / : /: complete with marks\. /)
    expect(readdirSync(join(folder, 'run-out'))).toEqual(
      expect.arrayContaining(['readings.csv', 'points.csv', 'report.pdf', 'results.json']),
    )
    const ended = await lab.end('SIGTERM')
    if (!WINDOWS) expect(ended).toBe(0)
  }, 120_000)

  it.skipIf(WINDOWS)(
    'stops safely when it is asked to end, and says so in its status',
    async () => {
      const lab = new Started(['lab', '--json', '--ports', '0', '--speed', LAB_SPEED])
      const [line] = await lab.saying(/^\{.*\}$/m)
      const data = join(folder, 'asked')
      await folderFor(JSON.parse(line) as Lab, data)
      const strict = { ...PLAN, settling: { ...PLAN.settling, windowS: 600, bandK: 0.01 }, maxWaitS: 3600 }
      writeFileSync(join(folder, 'strict.json'), JSON.stringify(strict))
      const run = new Started(['run', 'strict.json', '--operator', 'A. Person', '--data', data])
      await run.saying(/waiting until settled/)
      expect(await run.end('SIGTERM'), `${run.out}\n${run.err}`).toBe(5)
      expect(run.out).toMatch(/stopped by person/)
      const [session] = call('sessions', '--data', data, '--json').out.split('\n')
      const { info } = JSON.parse(session!) as { info: { ending: string } }
      expect(info.ending).toBe('stopped-by-person')
    },
    120_000,
  )
})

describe('stillpoint demo', () => {
  it('runs the main job to its end by itself and writes every file of the results', async () => {
    const demo = new Started(['demo', '--once', '--speed', 'max', '--out', 'demo-out', '--seed', '2'])
    expect(await demo.end(), demo.err).toBe(0)
    const files = readdirSync(join(folder, 'demo-out'))
    for (const name of [
      'readings.csv',
      'points.csv',
      'report.html',
      'report.pdf',
      'results.json',
      'certificates',
    ])
      expect(files).toContain(name)
    const session = files.find((name) => name.endsWith('.stillpoint'))
    expect(session).toBeDefined()
    const proof = call('prove', join(folder, 'demo-out', session!))
    expect(proof.out).toMatch(/the same, digit by digit/)
    expect(proof.status).toBe(0)
  }, 240_000)
})

describe('stillpoint demo --scenario', () => {
  it('records what compares nothing, and says why there is no report', async () => {
    const args = ['--scenario', 'bridge-check', '--once', '--speed', 'max', '--out', 'bridge-out']
    const demo = new Started(['demo', ...args])
    expect(await demo.end(), demo.err).toBe(0)
    expect(demo.out).toMatch(/readings are in bridge-out\. There is no report: No enabled channel/)
    expect(readdirSync(join(folder, 'bridge-out')).toSorted()).toEqual(['readings.csv', 'session.stillpoint'])
  }, 120_000)
})

describe('stillpoint desktop', () => {
  const fetched = existsSync(join(root, 'node_modules/electron/path.txt'))

  it.skipIf(fetched)(
    'says in one line that Electron cannot be had, and opens the page instead',
    async () => {
      const home = join(folder, 'home')
      const data = { ...process.env, XDG_DATA_HOME: home, APPDATA: home, LOCALAPPDATA: home, HOME: home }
      const child = spawn(process.execPath, [cli, 'desktop', '--no-fetch'], { cwd: folder, env: data })
      running.push(child)
      let out = ''
      child.stdout.on('data', (text: Buffer) => {
        out += String(text)
      })
      const until = Date.now() + 30_000
      while (!ADDRESS.test(out) && Date.now() < until) await new Promise((resolve) => setTimeout(resolve, 50))
      const lines = out.split('\n')
      expect(lines[0]).toMatch(
        /^Electron's binary cannot be had on this machine \(it has not been fetched\); opening .* as a page instead\.$/,
      )
      expect((await fetch(ADDRESS.exec(out)![0])).status).toBe(200)
      const ended = once(child, 'close')
      child.kill('SIGTERM')
      // Windows ends it unheard.
      expect(await ended).toEqual(WINDOWS ? [null, 'SIGTERM'] : [0, null])
    },
    60_000,
  )
})

describe('the front door', () => {
  const system = '/usr/bin/node'
  const major = existsSync(system)
    ? Number(spawnSync(system, ['-p', 'process.versions.node'], { encoding: 'utf8' }).stdout.split('.')[0])
    : undefined

  it.runIf(major !== undefined && major < 24)(
    'goes on under the pinned Node when the system has an older one',
    async () => {
      const { status, stdout } = spawnSync(system, [door, '--version'], { encoding: 'utf8' })
      expect(status).toBe(0)
      expect(stdout).toMatch(/^\d+\.\d+\.\d+\n$/)
      const refused = spawnSync(system, [door, 'nothing'], { encoding: 'utf8' })
      expect(refused.status).toBe(2)
      const station = new Started(['station', '--data', join(folder, 'door'), '--port', '0'], [system, door])
      await station.saying(ADDRESS)
      expect(await station.end('SIGTERM')).toBe(0)
    },
    60_000,
  )
})
