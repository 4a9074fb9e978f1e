import { createServer, type Server, type Socket } from 'node:net'
import { afterEach, describe, expect, it } from 'vitest'
import { openTcp } from '../../../drivers/link/tcp.ts'
import type { WireFault } from '../../../drivers/link/wire.ts'
import { VirtualClock } from '../../../main/station/clocks/virtual.ts'

const HOST = '127.0.0.1'
let server: Server
let clock: VirtualClock
afterEach(() => {
  clock.stop()
  server.close()
})

/** A connection whose far end reads nothing before it is told to. */
async function connected() {
  clock = new VirtualClock({ startUtcUs: 0 })
  server = createServer({ pauseOnConnect: true })
  const port = await new Promise<number>((resolve) => {
    server.listen(0, HOST, () => resolve((server.address() as { port: number }).port))
  })
  const accepted = new Promise<Socket>((resolve) => server.once('connection', resolve))
  const closed: WireFault[] = []
  const socket = await openTcp(
    { host: HOST, port, connectMs: 1000 },
    clock,
    { data: () => undefined, closed: (fault) => closed.push(fault) },
    new AbortController().signal,
  )
  const far = await accepted
  /** What comes until the end; undefined where the connection is broken off. */
  const read = () =>
    new Promise<string | undefined>((resolve) => {
      const parts: Buffer[] = []
      far.on('data', (part) => parts.push(part))
      far.on('end', () => resolve(Buffer.concat(parts).toString('latin1')))
      far.on('error', () => resolve(undefined))
      far.resume()
    })
  return { socket, far, read, closed }
}

/** More than any buffer of the system holds between the two ends of a connection. */
const much = '0123456789abcdef'.repeat(2 ** 20)

describe('openTcp', () => {
  it('lets what was written go out before it ends softly, and takes nothing after that', async () => {
    const { socket, read, closed } = await connected()
    expect(socket.localAddress).toBe(HOST)
    socket.write(much)
    socket.write(Uint8Array.of(0x21, 0xff))
    socket.finish()
    socket.write('too late')
    expect((await read()) === `${much}!\xff`).toBe(true)
    expect(closed).toEqual([])
  })

  it('ends at once where it is destroyed, whatever was written', async () => {
    const { socket, read, closed } = await connected()
    socket.write(much)
    socket.destroy()
    expect((await read()) === much).toBe(false)
    expect(closed).toEqual([])
  })

  it('says once that the far end has ended', async () => {
    const { socket, far, closed } = await connected()
    far.end()
    far.resume()
    while (closed.length === 0) await new Promise((resolve) => setImmediate(resolve))
    await new Promise((resolve) => setImmediate(resolve))
    expect(closed.map(({ code }) => code)).toEqual(['lost'])
    socket.destroy()
    expect(closed).toHaveLength(1)
  })

  it('is given up where its signal was given before', async () => {
    clock = new VirtualClock({ startUtcUs: 0 })
    server = createServer()
    const stop = new AbortController()
    stop.abort(new Error('enough'))
    const nobody = { data: () => undefined, closed: () => undefined }
    const opening = openTcp({ host: HOST, port: 9, connectMs: 1000 }, clock, nobody, stop.signal)
    await expect(opening).rejects.toMatchObject({ code: 'lost' })
  })
})
