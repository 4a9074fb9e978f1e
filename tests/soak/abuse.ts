import { type ChildProcess, fork } from 'node:child_process'
import { once } from 'node:events'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { connect, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { WebSocket } from 'ws'
import { seededRandom } from '../../app/statistics/random.ts'
import { METERS } from '../bench/meters.ts'
import type { Beat } from './abuse-station.ts'

/** What is done to the station, and how often; and for how long it is watched at rest before. */
const AMOUNTS = { frames: 50_000, resets: 50_000, calls: 20_000, connections: 1_000, reports: 200 }
const QUIET_S = 10
/** A phase is watched for this long at least, so that its pace is more than a count of two or three scans. */
const LEAST_MS = 8_000
/** Part of everything that is done once before anything is judged: code is compiled and caches are filled once. */
const WARM = 0.03
const AT_ONCE = 40
/** What is held: pace of recording, silence of the loop, memory afterwards, the end. */
const GOALS = { pace: 0.95, silenceMs: 250, memory: 1.1, endMs: 2_000 }
/** How long the station is left alone before its memory is judged: threads that nobody asks end after half a minute. */
const REST_S = 40

interface Phase {
  readonly name: string
  readonly seconds: number
  readonly perSecond: number
  readonly silenceMs: number
  /** Longest silence of a process beside it that did nothing. */
  readonly idleMs: number
  readonly rssMb: number
  readonly note: string
}

interface Place {
  readonly address: string
  readonly watcherAddress: string
  readonly port: number
}

/** Everything that a stranger or an onlooker can send, at once and in masses, to a station that records 96 channels. */
export async function abuse(scale: number, tableFile?: string): Promise<boolean> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-abuse-'))
  const peer = fork(new URL('../bench/station-peer.ts', import.meta.url), [String(METERS)])
  const [ports] = (await once(peer, 'message')) as [number[]]
  const station = fork(new URL('./abuse-station.ts', import.meta.url), [folder, JSON.stringify(ports)])
  const idle = fork(new URL('./idle-loop.ts', import.meta.url))
  try {
    const [place] = (await once(station, 'message')) as [Place]
    const watch = new Watch(station, idle)
    const warming = new Attacks(place, scale * WARM)
    for (const [, attack] of warming.all) await attack()
    warming.close()
    await pause(REST_S * 1000)
    const attacks = new Attacks(place, scale)
    const phases = [await watch.during('at rest', () => pause(QUIET_S * 1000).then(() => ''))]
    const held = await watch.held()
    for (const [name, attack] of attacks.all) phases.push(await watch.during(name, attack))
    attacks.close()
    await pause(REST_S * 1000)
    phases.push(await watch.during('at rest again', () => pause(QUIET_S * 1000).then(() => '')))
    const heldAfter = await watch.held()
    const from = performance.now()
    station.kill('SIGTERM')
    await once(station, 'exit')
    const endMs = performance.now() - from
    return judge(phases, { held, heldAfter, endMs }, scale, tableFile)
  } finally {
    for (const child of [station, idle, peer]) child.kill('SIGKILL')
    rmSync(folder, { recursive: true, force: true })
  }
}

class Watch {
  readonly #station: ChildProcess
  #beats: Beat[] = []
  #idle: number[] = []
  #told: ((mb: number) => void) | undefined

  constructor(station: ChildProcess, idle: ChildProcess) {
    this.#station = station
    station.on('message', (beat: Beat) => {
      if (beat.heldMb === undefined) this.#beats.push(beat)
      else this.#told?.(beat.heldMb)
    })
    idle.on('message', (ms: number) => this.#idle.push(ms))
  }

  async during(name: string, work: () => Promise<string>): Promise<Phase> {
    // A whole second before and after, so that each beat belongs to one phase.
    await pause(1100)
    this.#beats = []
    this.#idle = []
    const from = performance.now()
    const note = await work()
    await pause(Math.max(0, LEAST_MS - (performance.now() - from)))
    const seconds = (performance.now() - from) / 1000
    const beats = this.#beats
    const most = (values: readonly number[]) => Math.max(0, ...values)
    return {
      ...{ name, seconds, note },
      perSecond: paceOf(beats),
      silenceMs: most(beats.map(({ silenceMs }) => silenceMs)),
      idleMs: most(this.#idle),
      rssMb: beats.at(-1)?.rssMb ?? Number.NaN,
    }
  }

  /** Memory that is in use after a collection, MB. */
  held(): Promise<number> {
    return new Promise((resolve) => {
      this.#told = resolve
      this.#station.send('collect')
    })
  }
}

/** Readings a second between the first beat and the last. */
function paceOf(beats: readonly Beat[]): number {
  const [first, ...others] = beats
  const last = others.at(-1)
  if (!first || !last) return Number.NaN
  return others.reduce((sum, { readings }) => sum + readings, 0) / ((last.atMs - first.atMs) / 1000)
}

class Attacks {
  readonly #place: Place
  readonly #scale: number
  readonly #random = seededRandom(1)
  readonly #open: (Socket | WebSocket)[] = []

  constructor(place: Place, scale: number) {
    this.#place = place
    this.#scale = scale
  }

  get all(): [string, () => Promise<string>][] {
    return [
      ['raw frames', () => this.#frames()],
      ['upgrades and connections reset', () => this.#resets()],
      ['malformed calls', () => this.#calls()],
      ['connections held open', () => this.#connections()],
      ['requests for a report', () => this.#reports()],
    ]
  }

  close(): void {
    for (const one of this.#open) one instanceof WebSocket ? one.terminate() : one.destroy()
  }

  #count(what: keyof typeof AMOUNTS): number {
    return Math.max(1, Math.round(AMOUNTS[what] * this.#scale))
  }

  async #key(): Promise<string> {
    const origin = `http://127.0.0.1:${this.#place.port}`
    const answer = await fetch(`${origin}/session`, {
      method: 'POST',
      headers: { Origin: origin },
      body: JSON.stringify({ token: this.#place.watcherAddress.split('#token=')[1] }),
    })
    return ((await answer.json()) as { key: string }).key
  }

  /** Random bytes as frames, masked and not, whole and cut off, over sockets that have shown a key. */
  async #frames(): Promise<string> {
    const key = await this.#key()
    let left = this.#count('frames')
    let sockets = 0
    const one = async () => {
      while (left > 0) {
        const socket = await dial(this.#place.port)
        sockets += 1
        socket.write(handshake(this.#place.port, key))
        for (let i = 0; i < 20 && left > 0 && !socket.destroyed; i++) {
          left -= 1
          socket.write(this.#frame())
          if (i % 5 === 4) await pause(0)
        }
        socket.resetAndDestroy()
      }
    }
    await Promise.all(Array.from({ length: AT_ONCE }, one))
    return `over ${sockets} sockets`
  }

  #frame(): Buffer {
    const bytes = Buffer.alloc(2 + Math.floor(this.#random.uniform() * 40))
    for (let i = 0; i < bytes.length; i++) bytes[i] = this.#random.bits() & 0xff
    // Most look like the beginning of a frame that a browser might send.
    if (this.#random.uniform() < 0.7) bytes[0] = 0x80 | (bytes[0]! & 0x0f)
    return bytes
  }

  async #resets(): Promise<string> {
    let left = this.#count('resets')
    const one = async () => {
      while (left > 0) {
        left -= 1
        const socket = await dial(this.#place.port)
        if (left % 2 === 0) socket.write(handshake(this.#place.port))
        socket.resetAndDestroy()
      }
    }
    await Promise.all(Array.from({ length: AT_ONCE }, one))
    return 'half of them in the middle of an upgrade without a key'
  }

  /** Half are no calls at all and end their window, half are calls of ours with junk in them. */
  async #calls(): Promise<string> {
    const key = await this.#key()
    const all = this.#count('calls')
    let left = all
    let refused = 0
    const junk = ['{', '[]', '{"i":1}', '7', 'null', '{"i":"1","p":{}}', '\u0000', '{"i":"x","p":{"u":7}}']
    const one = async (n: number) => {
      while (left > 0) {
        const socket = await this.#join(key)
        if (!socket) {
          await pause(20)
          continue
        }
        if (n % 2 === 0) {
          left -= 1
          const gone = once(socket, 'close')
          socket.send(junk[left % junk.length]!)
          await gone
          refused += 1
          continue
        }
        for (let i = 0; i < 200 && left > 0; i++) {
          left -= 1
          const answer = once(socket, 'message')
          socket.send(
            JSON.stringify({
              i: String(i + 1),
              p: { u: '/archive/sessions', b: { json: { most: -i, unknown: 'x'.repeat(i) } } },
            }),
          )
          await answer
          refused += 1
        }
        socket.terminate()
      }
    }
    await Promise.all(Array.from({ length: 12 }, (_, n) => one(n)))
    return `${refused} of ${all} refused`
  }

  async #connections(): Promise<string> {
    const sockets = await Promise.all(
      Array.from({ length: this.#count('connections') }, () => dial(this.#place.port)),
    )
    await pause(5000)
    const left = sockets.filter(({ destroyed }) => !destroyed).length
    for (const socket of sockets) socket.destroy()
    return `${left} of them still open after 5 s`
  }

  /** Onlookers ask for the printed report of a night, as many at once as they can. */
  async #reports(): Promise<string> {
    const key = await this.#key()
    const all = this.#count('reports')
    const windows = (await Promise.all(Array.from({ length: 20 }, () => this.#join(key)))).filter(
      (window) => window !== undefined,
    )
    const answers = await Promise.all(
      Array.from({ length: all }, (_, n) => askReport(windows[n % windows.length]!, n)),
    )
    for (const window of windows) window.terminate()
    const made = answers.filter((answer) => answer === 'made').length
    return `${made} made, ${answers.filter((answer) => answer === 'busy').length} told to wait`
  }

  async #join(key: string): Promise<WebSocket | undefined> {
    const { port } = this.#place
    const socket = new WebSocket(`ws://127.0.0.1:${port}/rpc`, ['stillpoint', `key.${key}`], {
      headers: { Origin: `http://127.0.0.1:${port}` },
    })
    socket.setMaxListeners(0)
    this.#open.push(socket)
    socket.on('error', () => undefined)
    return new Promise((resolve) => {
      socket.once('open', () => resolve(socket))
      socket.once('close', () => resolve(undefined))
    })
  }
}

function askReport(window: WebSocket, n: number): Promise<'made' | 'busy' | 'other'> {
  const id = `report-${n}`
  return new Promise((resolve) => {
    const hear = (data: Buffer) => {
      const text = data.subarray(0, 4000).toString('latin1')
      if (!text.includes(`"${id}"`)) return
      window.off('message', hear)
      resolve(text.includes('BUSY') ? 'busy' : text.includes('application/pdf') ? 'made' : 'other')
    }
    window.on('message', hear)
    window.on('close', () => resolve('other'))
    window.send(
      JSON.stringify({ i: id, p: { u: '/points/reportPdf', b: { json: { session: 'reported' } } } }),
    )
  })
}

function dial(port: number): Promise<Socket> {
  const socket = connect(port, '127.0.0.1')
  socket.on('error', () => undefined)
  return new Promise((resolve) => {
    socket.once('connect', () => resolve(socket))
    socket.once('close', () => resolve(socket))
  })
}

const handshake = (port: number, key = '') =>
  [
    ...['GET /rpc HTTP/1.1', `Host: 127.0.0.1:${port}`, `Origin: http://127.0.0.1:${port}`],
    ...['Connection: Upgrade', 'Upgrade: websocket', 'Sec-WebSocket-Version: 13'],
    'Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==',
    ...(key ? [`Sec-WebSocket-Protocol: stillpoint, key.${key}`] : []),
    ...['', ''],
  ].join('\r\n')

function judge(
  phases: readonly Phase[],
  { held, heldAfter, endMs }: { held: number; heldAfter: number; endMs: number },
  scale: number,
  tableFile: string | undefined,
): boolean {
  const rest = phases[0]!.perSecond
  const pace = ({ perSecond }: Phase) => perSecond / rest
  const lines = [
    '| what | seconds | readings a second, against rest | longest silence of the loop | of an idle process beside it | memory | |',
    '|---|---|---|---|---|---|---|',
    ...phases.map(
      (phase) =>
        `| ${phase.name} | ${phase.seconds.toFixed(0)} | ${phase.perSecond.toFixed(0)}, ${(100 * pace(phase)).toFixed(1)} % | ${phase.silenceMs.toFixed(0)} ms | ${phase.idleMs.toFixed(0)} ms | ${phase.rssMb.toFixed(0)} MB | ${phase.note} |`,
    ),
  ]
  const failures = [
    ...phases.flatMap((phase) => [
      ...(pace(phase) < GOALS.pace
        ? [`${phase.name}: only ${(100 * pace(phase)).toFixed(1)} % of the readings came`]
        : []),
      ...(phase.silenceMs >= GOALS.silenceMs
        ? [
            `${phase.name}: the loop was silent for ${phase.silenceMs.toFixed(0)} ms, an idle process for ${phase.idleMs.toFixed(0)} ms`,
          ]
        : []),
    ]),
    ...(heldAfter > held * GOALS.memory
      ? [`memory in use went from ${held.toFixed(1)} to ${heldAfter.toFixed(1)} MB`]
      : []),
    ...(endMs > GOALS.endMs ? [`it ended after ${endMs.toFixed(0)} ms`] : []),
  ]
  const about = `Memory in use after a collection: ${held.toFixed(1)} MB before, ${heldAfter.toFixed(1)} MB after. It ended ${endMs.toFixed(0)} ms after SIGTERM.`
  const text = `${lines.join('\n')}\n\n${about}\n`
  console.log(text)
  for (const words of failures) console.log(`MISSED: ${words}`)
  if (tableFile !== undefined) writeFileSync(tableFile, text)
  console.log(
    failures.length === 0
      ? `The station held${scale === 1 ? '' : ` (at ${scale} of the amounts)`}.`
      : `${failures.length} goals missed.`,
  )
  return failures.length === 0
}
