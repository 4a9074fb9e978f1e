import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { connect, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { SerialPort } from 'serialport'
import type { Link } from '../../drivers/link/link.ts'
import { serialConnect } from '../../drivers/link/serial.ts'
import { tcpConnect } from '../../drivers/link/tcp.ts'
import { BENCH_BUSES, overBus } from './bus-rows.ts'
import { clock, compare, type Loop, openLink, ourLoop, row } from './loops.ts'
import type { Row } from './row.ts'

const PARALLEL = 96

/** The least a program can do: write a line, wait for a line, read its number, write the next. No deadline, no queue. */
function bareLoop(port: Socket | SerialPort): Loop {
  return (ms) =>
    new Promise((resolve, reject) => {
      const start = performance.now()
      let count = 0
      let held = ''
      const onData = (chunk: Buffer) => {
        held += chunk.toString('latin1')
        const end = held.indexOf('\n')
        if (end < 0) return
        const value = Number(held.slice(0, end))
        held = held.slice(end + 1)
        if (Number.isNaN(value)) reject(new Error('not a number'))
        count++
        if (count % 10 === 0 && performance.now() - start >= ms) {
          port.off('data', onData)
          resolve({ count, ms: performance.now() - start })
        } else port.write('FETC?\n')
      }
      port.on('data', onData)
      port.write('FETC?\n')
    })
}

async function startPeer(...args: string[]): Promise<{ peer: ChildProcess; said: string }> {
  const script = fileURLToPath(new URL('./wire-peer.ts', import.meta.url))
  const peer = spawn(process.execPath, [script, ...args], { stdio: ['ignore', 'pipe', 'inherit'] })
  const [said] = (await once(peer.stdout!, 'data')) as [Buffer]
  return { peer, said: String(said).trim() }
}

/** Links to so many instruments, each taking so long to answer. */
async function openMany(
  count: number,
  answerMs: number,
): Promise<{ loops: Loop[]; ports: number[]; close: () => Promise<void> }> {
  const { peer, said } = await startPeer('tcp', String(count + 1), String(answerMs))
  const ports = said.split(' ').map(Number)
  const links: Link[] = []
  const loops: Loop[] = []
  for (const port of ports.slice(1)) {
    const { link, speaker } = await openLink(
      tcpConnect({ host: '127.0.0.1', port, connectMs: 5000, owner: 'bench' }, clock),
    )
    links.push(link)
    loops.push(ourLoop(link, speaker, answerMs === 0 ? 50 : 5))
  }
  const close = async () => {
    for (const link of links) await link.close()
    peer.kill()
  }
  return { loops, ports, close }
}

async function againstBareSocket(): Promise<Row> {
  const { loops, ports, close } = await openMany(1, 0)
  const socket = connect({ host: '127.0.0.1', port: ports[0]!, noDelay: true })
  await once(socket, 'connect')
  try {
    const got = await compare(loops[0]!, bareLoop(socket))
    return row('exchanges over TCP: link, queue, deadline, parse', got, 'bare socket loop', 0.95)
  } finally {
    socket.destroy()
    await close()
  }
}

async function manyAgainstOne(answerMs: number): Promise<Row> {
  const { loops, close } = await openMany(PARALLEL, answerMs)
  const all: Loop = async (ms) => {
    const start = performance.now()
    const counts = await Promise.all(loops.map((loop) => loop(ms)))
    return { count: counts.reduce((sum, each) => sum + each.count, 0), ms: performance.now() - start }
  }
  try {
    const got = await compare(all, loops[0]!)
    const speed = answerMs === 0 ? 'answer at once' : `take ${answerMs} ms to answer`
    return row(
      `${PARALLEL} instruments at once that ${speed}`,
      got,
      'one such instrument',
      answerMs === 0 ? undefined : 2.5,
    )
  } finally {
    await close()
  }
}

/** A pair of serial ports with a peer at its far end. */
async function openPair(folder: string, name: string): Promise<{ path: string; end: () => void }> {
  const [near, far] = [join(folder, name), join(folder, `${name}-far`)]
  const socat = spawn('socat', [`pty,raw,echo=0,link=${near}`, `pty,raw,echo=0,link=${far}`], {
    stdio: 'ignore',
  })
  while (!existsSync(near) || !existsSync(far)) await clock.sleep(20)
  const { peer } = await startPeer('serial', far)
  const end = () => {
    peer.kill()
    socat.kill()
  }
  return { path: near, end }
}

/** A port has one reader, so each of the two has a pair of its own, made the same way. */
async function overSerial(): Promise<Row> {
  const name = 'exchanges over serial: link, queue, deadline, parse'
  if (!existsSync('/usr/bin/socat')) {
    const note = 'not measured: socat, which makes pairs of ports, is not installed'
    return { name, ours: 0, other: 0, unit: 'per s', ratio: 0, goal: '>= 0.95', met: null, note }
  }
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-bench-'))
  const pairs = [await openPair(folder, 'ours'), await openPair(folder, 'bare')] as const
  const line = {
    baud: 115_200,
    dataBits: 8,
    parity: 'none',
    stopBits: 1,
    flow: 'none',
    dtr: true,
    rts: true,
  } as const
  const address = { ...line, path: pairs[0].path, afterOpenMs: 0, openMs: 5000, owner: 'bench' }
  const { link, speaker } = await openLink(serialConnect(address, clock))
  const port = new SerialPort({ path: pairs[1].path, baudRate: line.baud, autoOpen: false })
  await new Promise<void>((resolve, reject) => port.open((error) => (error ? reject(error) : resolve())))
  // A reader stays attached between rounds, as ours does.
  port.on('data', () => undefined)
  try {
    return row(name, await compare(ourLoop(link, speaker, 10), bareLoop(port)), 'bare serialport loop', 0.95)
  } finally {
    await link.close()
    await new Promise<void>((resolve) => port.close(() => resolve()))
    for (const pair of pairs) pair.end()
    rmSync(folder, { recursive: true, force: true })
  }
}

/** Round trips through our link beside the least a program could do, in the same run. */
export async function bench(): Promise<Row[]> {
  const rows = [
    await againstBareSocket(),
    await manyAgainstOne(2),
    await manyAgainstOne(0),
    await overSerial(),
  ]
  for (const bus of BENCH_BUSES) rows.push(await overBus(bus))
  return rows
}
