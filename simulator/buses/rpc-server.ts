import type { Socket } from 'node:net'
import { type RpcCall, readCall, recordCutter, writeDenied, writeReply } from '../../app/buses/rpc.ts'
import { XdrError } from '../../app/buses/xdr.ts'
import { BusServer } from './bus-server.ts'

/** What becomes of a call: the whole reply, now or later; undefined where the call is one-way. */
export type Handler = (
  call: RpcCall,
  socket: Socket | undefined,
) => Uint8Array | undefined | Promise<Uint8Array | undefined>

/** How a reply leaves; the default is that it simply does. */
export type Sender = (reply: Uint8Array, call: RpcCall, send: (bytes: Uint8Array) => void) => void

/** A server of remote procedures over TCP (RFC 5531): on one connection one call after another. */
export class RpcServer extends BusServer {
  readonly #handle: Handler
  readonly #send: Sender

  constructor(host: string, handle: Handler, send: Sender = (reply, _call, out) => out(reply)) {
    super(host)
    this.#handle = handle
    this.#send = send
  }

  protected override welcome(socket: Socket): void {
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
