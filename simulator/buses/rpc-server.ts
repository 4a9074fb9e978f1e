import { createServer, type Server, type Socket } from 'node:net'
import { type RpcCall, readCall, recordCutter, writeDenied, writeReply } from '../../app/buses/rpc.ts'
import { XdrError } from '../../app/buses/xdr.ts'
import { listenAnywhere } from '../instruments/any-port.ts'

/** What becomes of a call: the whole reply, now or later; undefined where the call is one-way. */
export type Handler = (
  call: RpcCall,
  socket: Socket | undefined,
) => Uint8Array | undefined | Promise<Uint8Array | undefined>

/** How a reply leaves; the default is that it simply does. */
export type Sender = (reply: Uint8Array, call: RpcCall, send: (bytes: Uint8Array) => void) => void

/** A server of remote procedures over TCP (RFC 5531): on one connection one call after another. */
export class RpcServer {
  readonly #host: string
  readonly #handle: Handler
  readonly #send: Sender
  readonly #sockets = new Set<Socket>()
  #server: Server | undefined
  #port = 0

  constructor(host: string, handle: Handler, send: Sender = (reply, _call, out) => out(reply)) {
    this.#host = host
    this.#handle = handle
    this.#send = send
  }

  get port(): number {
    return this.#port
  }

  async open(port: number): Promise<void> {
    if (port !== 0) {
      await this.#listen(port)
      this.#port = port
    } else this.#port = await listenAnywhere((any) => this.#listen(any))
  }

  async close(): Promise<void> {
    const server = this.#server
    this.#server = undefined
    for (const socket of this.#sockets) socket.destroy()
    if (server) await new Promise<void>((resolve) => server.close(() => resolve()))
  }

  #listen(port: number): Promise<void> {
    const server = createServer({ noDelay: true }, (socket) => this.#welcome(socket))
    return new Promise((resolve, reject) => {
      server.once('error', reject)
      server.listen(port, this.#host, () => {
        server.off('error', reject)
        this.#server = server
        resolve()
      })
    })
  }

  #welcome(socket: Socket): void {
    this.#sockets.add(socket)
    const waiting: Uint8Array[] = []
    let busy = false
    const send = (bytes: Uint8Array) => {
      if (!socket.destroyed) socket.write(bytes)
    }
    const next = () => {
      const record = waiting.shift()
      busy = record !== undefined
      if (record === undefined) return
      const call = readCallOrNothing(record)
      // What is no call has no reply, so nothing more can be said on this connection.
      if (call === undefined) return void socket.destroy()
      const done = (reply: Uint8Array | undefined) => {
        if (reply !== undefined) this.#send(reply, call, send)
        next()
      }
      const reply = answer(call, (each) => this.#handle(each, socket))
      if (reply instanceof Promise) reply.then(done)
      else done(reply)
    }
    const cutter = recordCutter((record) => {
      waiting.push(record.slice())
      if (!busy) next()
    })
    socket.on('data', (bytes) => {
      try {
        cutter.push(bytes)
      } catch {
        socket.destroy()
      }
    })
    socket.on('error', () => socket.destroy())
    socket.on('close', () => this.#sockets.delete(socket))
  }
}

/** The reply to one call, refusals of the protocol itself included. */
export function answer(call: RpcCall, handle: (call: RpcCall) => ReturnType<Handler>): ReturnType<Handler> {
  if (call.rpcVersion !== 2) return writeDenied(call.xid)
  const refuse = (error: unknown) => {
    if (error instanceof XdrError) return writeReply(call.xid, 'garbage-arguments')
    throw error
  }
  try {
    const reply = handle(call)
    return reply instanceof Promise ? reply.catch(refuse) : reply
  } catch (error) {
    return refuse(error)
  }
}

export function readCallOrNothing(record: Uint8Array): RpcCall | undefined {
  try {
    return readCall(record)
  } catch (error) {
    if (error instanceof XdrError) return undefined
    throw error
  }
}
