import type { Clock, Disposable, StopSignal } from '../../app/base/clock.ts'
import type { PacketCutter } from '../../app/buses/packets.ts'
import { PORTMAP, writeMapping } from '../../app/buses/portmap.ts'
import { numberCall, type RpcReply, readReply, recordCutter, writeCall } from '../../app/buses/rpc.ts'
import { XdrError, type XdrReader, type XdrWriter } from '../../app/buses/xdr.ts'
import { said } from '../../app/messages/said.ts'
import { openTcp, type TcpSocket } from './tcp.ts'
import { WireFault } from './wire.ts'

export interface RpcAddress {
  readonly host: string
  readonly port: number
  readonly connectMs: number
}

export interface RpcListener {
  closed(fault: WireFault): void
  /** A reply came to a call that nobody waits for any more, or that was never made. */
  stray(): void
}

/** A timer that some clocks can start anew more cheaply than make another. */
interface Rearmable extends Disposable {
  readonly refresh?: () => void
}

/** Told of the reply, or of none: the deadline passed or the connection is gone. */
export type Replied = (reply: RpcReply | undefined) => void

/** Calls of one program over one TCP connection (RFC 5531), one at a time; a reply is known by its transaction id. */
export class RpcChannel {
  readonly #clock: Clock
  readonly #program: { readonly program: number; readonly version: number }
  readonly #listener: RpcListener
  readonly #cutter: PacketCutter
  #socket: TcpSocket | undefined
  #xid = 1
  #replied: Replied | undefined
  #timer: Rearmable | undefined
  #timerMs = 0
  #over = false

  private constructor(
    clock: Clock,
    program: { readonly program: number; readonly version: number },
    listener: RpcListener,
  ) {
    this.#clock = clock
    this.#program = program
    this.#listener = listener
    this.#cutter = recordCutter((record) => this.#hear(record))
  }

  static async open(
    address: RpcAddress,
    program: { readonly program: number; readonly version: number },
    clock: Clock,
    listener: RpcListener,
    signal: StopSignal,
  ): Promise<RpcChannel> {
    const channel = new RpcChannel(clock, program, listener)
    channel.#socket = await openTcp(
      address,
      clock,
      { data: (chunk) => channel.#push(chunk, address), closed: (fault) => channel.#finish(fault) },
      signal,
    )
    return channel
  }

  /** This computer's address on the way there. */
  get localAddress(): string {
    return this.#socket?.localAddress ?? ''
  }

  /** Makes a call. The one before must have been replied to, or forgotten. */
  call(procedure: number, deadlineMs: number, args: (into: XdrWriter) => void, replied: Replied): void {
    this.#make(this.prepare(procedure, args), deadlineMs, replied)
  }

  /** The bytes of a call that is made again and again. */
  prepare(procedure: number, args: (into: XdrWriter) => void): Uint8Array {
    return writeCall({ ...this.#program, xid: 0, procedure }, args)
  }

  /** Makes a call that was prepared, under a transaction id of its own. */
  repeat(prepared: Uint8Array, deadlineMs: number, replied: Replied): void {
    // A copy: the one before may still be on its way out of this program.
    this.#make(prepared.slice(), deadlineMs, replied)
  }

  #make(call: Uint8Array, deadlineMs: number, replied: Replied): void {
    if (this.#over) {
      replied(undefined)
      return
    }
    this.#xid = (this.#xid + 1) >>> 0
    this.#replied = replied
    this.#arm(deadlineMs)
    numberCall(call, this.#xid)
    this.#socket?.write(call)
  }

  /** The reply to the call that waits is of no interest any more: it is thrown away by its transaction id. */
  forget(): void {
    this.#replied = undefined
    this.#xid = (this.#xid + 1) >>> 0
    this.#disarm()
  }

  /** Ends it after what was written has gone out, or at once. */
  close(softly: boolean): void {
    if (this.#over) return
    this.#over = true
    this.#timer?.dispose()
    if (softly) this.#socket?.finish()
    else this.#socket?.destroy()
  }

  #push(chunk: Uint8Array, { host, port }: RpcAddress): void {
    try {
      this.#cutter.push(chunk)
    } catch (fault) {
      const why = (fault as Error).message
      this.#finish(new WireFault('lost', said('no-reply-of-a-procedure', { host, port, why })))
    }
  }

  #hear(record: Uint8Array): void {
    const reply = readReply(record)
    const replied = this.#replied
    if (reply === undefined || reply.xid !== this.#xid || replied === undefined) {
      this.#listener.stray()
      return
    }
    this.#replied = undefined
    this.#disarm()
    replied(reply)
  }

  #finish(fault: WireFault): void {
    if (this.#over) return
    this.#over = true
    this.#timer?.dispose()
    this.#socket?.destroy()
    const replied = this.#replied
    this.#replied = undefined
    this.#listener.closed(fault)
    replied?.(undefined)
  }

  #arm(waitMs: number): void {
    const timer = this.#timer
    // A longer deadline than the one asked for does no harm, so one timer serves calls of all kinds.
    if (timer?.refresh !== undefined && waitMs <= this.#timerMs) {
      timer.refresh()
      return
    }
    timer?.dispose()
    this.#timerMs = waitMs
    this.#timer = this.#clock.after(waitMs, () => {
      this.#timer = undefined
      const replied = this.#replied
      this.#replied = undefined
      replied?.(undefined)
    })
  }

  /** A timer that can be started anew is left for the next call; it finds nobody waiting when it fires. */
  #disarm(): void {
    if (this.#timer?.refresh !== undefined) return
    this.#timer?.dispose()
    this.#timer = undefined
  }
}

/** What the results of an accepted call say; undefined where there are none, or they break off. */
export function resultOf<T>(reply: RpcReply | undefined, read: (results: XdrReader) => T): T | undefined {
  if (reply?.status !== 'success') return undefined
  try {
    return read(reply.results)
  } catch (error) {
    if (error instanceof XdrError) return undefined
    throw error
  }
}

/** Asks the port mapper on which TCP port a program listens (RFC 1833, 3: PMAPPROC_GETPORT). */
export async function askPort(
  address: RpcAddress,
  program: { readonly program: number; readonly version: number },
  clock: Clock,
  signal: StopSignal,
): Promise<number> {
  const where = `${address.host}:${address.port}`
  const mapper = await RpcChannel.open(
    address,
    PORTMAP,
    clock,
    { closed: () => undefined, stray: () => undefined },
    signal,
  )
  try {
    const port = await new Promise<number | undefined>((resolve) => {
      mapper.call(
        PORTMAP.procedures.getport,
        address.connectMs,
        (into) => writeMapping(into, { ...program, protocol: PORTMAP.tcp, port: 0 }),
        (reply) => resolve(resultOf(reply, (results) => results.uint())),
      )
    })
    if (port === undefined) throw new WireFault('lost', said('port-mapper-silent', { where }))
    if (port < 1 || port > 65_535) {
      throw new WireFault('refused', said('no-vxi11-behind', { host: address.host }))
    }
    return port
  } finally {
    mapper.close(true)
  }
}
