import { createServer, isIPv4, type Server, type Socket } from 'node:net'
import { readCall, recordCutter } from '../../app/buses/rpc.ts'
import { ERROR, INTR, PROCEDURE } from '../../app/buses/vxi11.ts'
import type { XdrWriter } from '../../app/buses/xdr.ts'

type Ask = (procedure: number, args: (into: XdrWriter) => void) => Promise<number | undefined>

/** TCP, as create_intr_chan numbers it (Device_AddrFamily). */
const FAMILY_TCP = 0
/** What the instrument sends with each request, so that it is known as one of ours. */
const HANDLE = new Uint8Array([0x73, 0x72, 0x71])

/** The interrupt channel: a server of our own, which the instrument calls when it wants service (VXI-11, B.5; number from memory). */
export class InterruptChannel {
  readonly #server: Server
  readonly #host: string
  readonly #port: number
  readonly #callers: Set<Socket>

  private constructor(server: Server, host: string, port: number, callers: Set<Socket>) {
    this.#server = server
    this.#host = host
    this.#port = port
    this.#callers = callers
  }

  /** Listens on this computer's address towards the instrument; undefined where it has no IPv4 one, which the protocol needs. */
  static async open(host: string, onRequest: () => void): Promise<InterruptChannel | undefined> {
    const address = host.replace(/^::ffff:/, '')
    if (!isIPv4(address)) return undefined
    const callers = new Set<Socket>()
    const server = createServer((socket) => {
      callers.add(socket)
      const cutter = recordCutter((record) => {
        const call = readCall(record)
        // The call is one-way: nothing is replied.
        if (call?.program === INTR.program && call.procedure === PROCEDURE.deviceIntrSrq) onRequest()
      })
      socket.on('data', (chunk: Buffer) => {
        try {
          cutter.push(chunk)
        } catch {
          socket.destroy()
        }
      })
      socket.on('error', () => socket.destroy())
      socket.on('close', () => callers.delete(socket))
    })
    const port = await new Promise<number | undefined>((resolve) => {
      server.once('error', () => resolve(undefined))
      server.listen(0, address, () => {
        const bound = server.address()
        resolve(typeof bound === 'object' && bound !== null ? bound.port : undefined)
      })
    })
    return port === undefined ? undefined : new InterruptChannel(server, address, port, callers)
  }

  /** Has the instrument connect and send its requests here; whether it does. */
  async establish(ask: Ask, lid: number): Promise<boolean> {
    const [a = 0, b = 0, c = 0, d = 0] = this.#host.split('.').map(Number)
    const made = await ask(PROCEDURE.createIntrChan, (into) => {
      into.uint(((a << 24) | (b << 16) | (c << 8) | d) >>> 0).uint(this.#port)
      into.uint(INTR.program).uint(INTR.version).uint(FAMILY_TCP)
    })
    if (made !== ERROR.none) return false
    const enabled = await ask(PROCEDURE.deviceEnableSrq, (into) => into.uint(lid).bool(true).opaque(HANDLE))
    return enabled === ERROR.none
  }

  close(): void {
    for (const caller of this.#callers) caller.destroy()
    this.#server.close()
  }
}
