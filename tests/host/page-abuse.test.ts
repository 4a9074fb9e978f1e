import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { connect, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { WebSocket } from 'ws'
import { GATE_LIMITS } from '../../main/host/gate/limits.ts'
import { type PageServer, servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'

// What anybody on this computer can send to the page of a station. A fault that nobody hears would end the test's process.

let folder: string
let host: EmptyHost
let page: PageServer
const open: WebSocket[] = []
const raw: Socket[] = []

const own = () => `http://127.0.0.1:${page.port}`

async function keyOf(address: string): Promise<string> {
  const answer = await fetch(`${own()}/session`, {
    method: 'POST',
    headers: { Origin: own() },
    body: JSON.stringify({ token: address.split('#token=')[1] }),
  })
  return ((await answer.json()) as { key: string }).key
}

function joinAs(key: string): Promise<WebSocket> {
  const socket = new WebSocket(`${own().replace('http', 'ws')}/rpc`, ['stillpoint', `key.${key}`], {
    headers: { Origin: own() },
  })
  open.push(socket)
  socket.on('error', () => undefined)
  return new Promise((resolve, reject) => {
    socket.on('open', () => resolve(socket))
    socket.on('unexpected-response', (_request, { statusCode }) => reject(new Error(String(statusCode))))
  })
}

/** Bare bytes to the page's port. */
function dial(): Promise<Socket> {
  const socket = connect(page.port, '127.0.0.1')
  raw.push(socket)
  socket.on('error', () => undefined)
  return new Promise((resolve) => socket.on('connect', () => resolve(socket)))
}

const HANDSHAKE = (port: number, key = '') =>
  [
    'GET /rpc HTTP/1.1',
    `Host: 127.0.0.1:${port}`,
    `Origin: http://127.0.0.1:${port}`,
    'Connection: Upgrade',
    'Upgrade: websocket',
    'Sec-WebSocket-Version: 13',
    'Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==',
    ...(key ? [`Sec-WebSocket-Protocol: stillpoint, key.${key}`] : []),
    '',
    '',
  ].join('\r\n')

/** Joined as an onlooker by hand, so that any frame can be sent. */
async function dialIn(): Promise<Socket> {
  const socket = await dial()
  const answer = new Promise<string>((resolve) => socket.once('data', (data) => resolve(String(data))))
  socket.write(HANDSHAKE(page.port, await keyOf(page.watcherAddress)))
  expect(await answer).toContain('101 Switching Protocols')
  return socket
}

/** The close code of the frame that the station ends a wire with (RFC 6455, 5.5.1). */
function closeCode(socket: Socket): Promise<number> {
  return new Promise((resolve) =>
    socket.on('data', (data) => {
      if ((data[0]! & 0x0f) === 8) resolve(data.readUInt16BE(2))
    }),
  )
}

const closed = (socket: WebSocket) =>
  new Promise<number>((resolve) => socket.on('close', (code) => resolve(code)))

async function stands(): Promise<void> {
  const socket = await joinAs(await keyOf(page.address))
  const answer = new Promise<string>((resolve) => socket.on('message', (data) => resolve(String(data))))
  socket.send(JSON.stringify({ i: '1', p: { u: '/station/state' } }))
  expect(JSON.parse(await answer)).toMatchObject({ i: '1', p: { b: { json: { program: 'Stillpoint' } } } })
  socket.close()
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-abuse-'))
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>Stillpoint</title>')
  host = await openEmptyHost()
  page = await servePage({ folder, port: 0, ...socketWindows(host.services) })
})
afterAll(async () => {
  for (const socket of open) socket.terminate()
  for (const socket of raw) socket.destroy()
  await page?.close()
  await host?.close()
  rmSync(folder, { recursive: true, force: true })
})

describe('the page stands', () => {
  it('while upgrades without a key are reset as soon as they are sent', async () => {
    for (let i = 0; i < 60; i++) {
      const socket = await dial()
      socket.write(HANDSHAKE(page.port))
      await new Promise((resolve) => setImmediate(resolve))
      socket.resetAndDestroy()
    }
    await stands()
  })

  it('after a frame that no window sends: an unmasked one is a protocol error (RFC 6455, 5.1)', async () => {
    const socket = await dialIn()
    socket.write(Buffer.from('838000000000', 'hex'))
    expect(await closeCode(socket)).toBe(1002)
    const other = await dialIn()
    other.write(Buffer.from([0x81, 0x02, 0x7b, 0x7d]))
    expect(await closeCode(other)).toBe(1002)
    await stands()
  })

  it('after text that is no UTF-8, with the code that says so', async () => {
    const socket = await dialIn()
    // Masked with zeros, so that the payload is what it looks like.
    socket.write(Buffer.from([0x81, 0x82, 0, 0, 0, 0, 0xff, 0xfe]))
    expect(await closeCode(socket)).toBe(1007)
    await stands()
  })

  it('after a message larger than an onlooker or anybody may send', async () => {
    const onlooker = await joinAs(await keyOf(page.watcherAddress))
    const first = closed(onlooker)
    onlooker.send('x'.repeat(GATE_LIMITS.onlookers.largest + 1))
    expect(await first).toBe(1009)
    const operator = await joinAs(await keyOf(page.address))
    const second = closed(operator)
    operator.send(Buffer.alloc(GATE_LIMITS.members.largest + 1))
    expect(await second).toBe(1009)
    await stands()
  })

  it('after what is no call, and says why it ends the wire', async () => {
    const socket = await joinAs(await keyOf(page.watcherAddress))
    const end = new Promise<[number, string]>((resolve) =>
      socket.on('close', (code, words) => resolve([code, String(words)])),
    )
    socket.send('{')
    expect(await end).toEqual([1007, 'it sent something that is no call'])
    await stands()
  })

  it('while onlookers fill every place they may have: one more is turned away, who works is not', async () => {
    const key = await keyOf(page.watcherAddress)
    const sockets: WebSocket[] = []
    for (let i = 0; i < GATE_LIMITS.onlookers.windows; i++) sockets.push(await joinAs(key))
    await expect(joinAs(key)).rejects.toThrow('503')
    await stands()
    sockets[0]!.close()
    await expect.poll(() => host.services.gate.hasRoom('onlookers')).toBe(true)
    for (const socket of sockets) socket.close()
    await expect
      .poll(() =>
        joinAs(key).then(
          () => 'in',
          () => 'out',
        ),
      )
      .toBe('in')
  })

  it('while hundreds of connections are held open by somebody who says nothing', async () => {
    const silent = await Promise.all(Array.from({ length: 400 }, dial))
    await stands()
    await expect.poll(() => silent.filter(({ destroyed }) => !destroyed).length).toBeLessThan(120)
  })

  it('and refuses a stream too many in words, without ending the window', async () => {
    const socket = await joinAs(await keyOf(page.watcherAddress))
    const heard: string[] = []
    socket.on('message', (data) => heard.push(String(data)))
    for (let i = 1; i <= 12; i++) socket.send(JSON.stringify({ i: String(i), p: { u: '/station/watch' } }))
    await expect
      .poll(() => heard.filter((text) => text.includes('BUSY')).length)
      .toBe(12 - GATE_LIMITS.onlookers.streamsEach)
    expect(heard.find((text) => text.includes('BUSY'))).toContain('This window already follows 4 things.')
    expect(socket.readyState).toBe(WebSocket.OPEN)
    socket.close()
  })

  it('and writes no more than a few lines of it', async () => {
    for (let i = 0; i < 60; i++) {
      const socket = await joinAs(await keyOf(page.address))
      const end = closed(socket)
      socket.send('{')
      await end
    }
    await stands()
    host.hosted.flushLog()
    const log = readdirSync(join(host.folder, 'log')).map((name) =>
      readFileSync(join(host.folder, 'log', name), 'utf8'),
    )
    const told = log.join('').match(/The link to a window was ended/g)?.length
    expect(told).toBeGreaterThan(5)
    expect(told).toBeLessThanOrEqual(20)
  })
})
