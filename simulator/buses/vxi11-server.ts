import { connect, type Socket } from 'node:net'
import type { Clock } from '../../app/base/clock.ts'
import { bytesOf, textOf } from '../../app/buses/packets.ts'
import { PORTMAP } from '../../app/buses/portmap.ts'
import { type RpcCall, writeCall, writeReply } from '../../app/buses/rpc.ts'
import { ASYNC, CORE, ERROR, FLAG, INTR, PROCEDURE } from '../../app/buses/vxi11.ts'
import type { XdrReader } from '../../app/buses/xdr.ts'
import { PortMapper } from './portmapper.ts'
import { RpcServer } from './rpc-server.ts'
import type { Vxi11Device, Vxi11Link } from './vxi11-device.ts'

/** Largest message taken in one write. */
const LARGEST = 2 ** 16

interface Held {
  readonly link: Vxi11Link
  readonly device: Vxi11Device
  readonly socket: Socket
  /** What is sent along with a request for service; undefined: it is not to be sent. */
  handle: Uint8Array | undefined
}

/** VXI-11 with its own port mapper: core channel, abort channel, interrupt channels to clients that ask for one. */
export class Vxi11Server {
  readonly #clock: Clock
  readonly #core: RpcServer
  readonly #abort: RpcServer
  readonly #devices: Vxi11Device[] = []
  readonly #links = new Map<number, Held>()
  /** The interrupt channel of each connection. */
  readonly #channels = new Map<Socket, Socket>()
  readonly #watched = new WeakSet<Socket>()
  readonly #host: string
  #mapper: PortMapper | undefined
  #next = 1

  constructor(host: string, clock: Clock) {
    this.#host = host
    this.#clock = clock
    this.#core = new RpcServer(
      host,
      (call, socket) => this.#handleCore(call, socket!),
      (reply, call, send) => this.#sendReply(reply, call, send),
    )
    this.#abort = new RpcServer(host, (call) => this.#handleAbort(call))
  }

  /** Port of the port mapper. */
  get portmapper(): number {
    return this.#mapper?.port ?? 0
  }

  add(device: Vxi11Device): void {
    this.#devices.push(device)
  }

  /** Opens at these ports; 0 means any free one. */
  async open(ports: { core: number; portmapper: number }): Promise<void> {
    await this.#core.open(ports.core)
    await this.#abort.open(0)
    const mapper = new PortMapper(this.#host, [
      { ...PORTMAP, protocol: PORTMAP.tcp, port: 0 },
      { ...CORE, protocol: PORTMAP.tcp, port: this.#core.port },
      { ...ASYNC, protocol: PORTMAP.tcp, port: this.#abort.port },
    ])
    await mapper.open(ports.portmapper)
    this.#mapper = mapper
  }

  async close(): Promise<void> {
    for (const channel of this.#channels.values()) channel.destroy()
    await this.#mapper?.close()
    await this.#abort.close()
    await this.#core.close()
  }

  /** The answer to a read passes by the faults of packets; everything else leaves as it is. */
  #sendReply(reply: Uint8Array, call: RpcCall, send: (bytes: Uint8Array) => void): void {
    const desk = call.procedure === PROCEDURE.deviceRead ? this.#readBy.get(call)?.desk : undefined
    if (desk === undefined) {
      send(reply)
      return
    }
    const wrong = () => {
      const other = reply.slice()
      new DataView(other.buffer).setUint32(4, (call.xid - 64) >>> 0)
      return other
    }
    desk.sendPacket(reply, wrong, send)
  }

  readonly #readBy = new WeakMap<RpcCall, Vxi11Device>()

  #handleAbort({ xid, program, version, procedure, args }: RpcCall): Uint8Array {
    if (program !== ASYNC.program) return writeReply(xid, 'program-unavailable')
    if (version !== ASYNC.version)
      return writeReply(xid, 'program-mismatch', (into) => into.uint(ASYNC.version).uint(ASYNC.version))
    if (procedure === 0) return writeReply(xid, 'success')
    if (procedure !== PROCEDURE.deviceAbort) return writeReply(xid, 'procedure-unavailable')
    const held = this.#links.get(args.int())
    held?.device.abort(held.link)
    return errorReply(xid, held === undefined ? ERROR.invalidLink : ERROR.none)
  }

  #handleCore(call: RpcCall, socket: Socket): Uint8Array | Promise<Uint8Array> {
    const { xid, program, version, procedure, args } = call
    if (program !== CORE.program) return writeReply(xid, 'program-unavailable')
    if (version !== CORE.version)
      return writeReply(xid, 'program-mismatch', (into) => into.uint(CORE.version).uint(CORE.version))
    this.#watch(socket)
    switch (procedure) {
      case 0:
        return writeReply(xid, 'success')
      case PROCEDURE.createLink:
        return this.#createLink(xid, args, socket)
      case PROCEDURE.createIntrChan:
        return this.#createChannel(xid, args, socket)
      case PROCEDURE.destroyIntrChan: {
        const channel = this.#channels.get(socket)
        channel?.destroy()
        this.#channels.delete(socket)
        return errorReply(xid, channel === undefined ? ERROR.channelNotEstablished : ERROR.none)
      }
      default:
        return this.#handleLink(call)
    }
  }

  /** Procedures of one link. */
  #handleLink(call: RpcCall): Uint8Array | Promise<Uint8Array> {
    const { xid, procedure, args } = call
    const held = this.#links.get(args.int())
    const there = held?.device.links.has(held.link) && held.device.isThere ? held : undefined
    switch (procedure) {
      case PROCEDURE.deviceWrite:
        return this.#write(xid, args, there)
      case PROCEDURE.deviceRead:
        return this.#read(call, there)
      case PROCEDURE.deviceReadStb:
        return this.#unlocked(there, args).then((error) =>
          writeReply(xid, 'success', (into) =>
            into.uint(error).uint(error === ERROR.none ? there!.device.status() : 0),
          ),
        )
      case PROCEDURE.deviceTrigger:
      case PROCEDURE.deviceClear:
      case PROCEDURE.deviceRemote:
      case PROCEDURE.deviceLocal:
        return this.#unlocked(there, args).then((error) => {
          if (error === ERROR.none && procedure === PROCEDURE.deviceTrigger) there!.device.trigger()
          if (error === ERROR.none && procedure === PROCEDURE.deviceClear) there!.device.clear()
          return errorReply(xid, error)
        })
      case PROCEDURE.deviceLock: {
        const wait = (args.uint() & FLAG.waitLock) !== 0
        const timeoutMs = args.uint()
        if (there === undefined) return errorReply(xid, ERROR.invalidLink)
        if (there.device.lock.holds(there.link)) return errorReply(xid, ERROR.lockedByAnother)
        return there.device.lock
          .request(there.link, '', wait ? timeoutMs : 0)
          .then((granted) => errorReply(xid, granted ? ERROR.none : ERROR.lockedByAnother))
      }
      case PROCEDURE.deviceUnlock:
        if (there === undefined) return errorReply(xid, ERROR.invalidLink)
        return errorReply(
          xid,
          there.device.lock.release(there.link) === 'none' ? ERROR.noLockHeld : ERROR.none,
        )
      case PROCEDURE.deviceEnableSrq: {
        const enable = args.bool()
        const handle = args.opaque().slice()
        if (there === undefined) return errorReply(xid, ERROR.invalidLink)
        there.handle = enable ? handle : undefined
        return errorReply(xid, ERROR.none)
      }
      case PROCEDURE.deviceDocmd:
        return writeReply(xid, 'success', (into) => into.uint(ERROR.notSupported).opaque(new Uint8Array(0)))
      case PROCEDURE.destroyLink:
        if (held === undefined) return errorReply(xid, ERROR.invalidLink)
        this.#forget(held)
        return errorReply(xid, ERROR.none)
      default:
        return writeReply(xid, 'procedure-unavailable')
    }
  }

  async #createLink(xid: number, args: XdrReader, socket: Socket): Promise<Uint8Array> {
    args.uint()
    const wantsLock = args.bool()
    const timeoutMs = args.uint()
    const name = args.text().toLowerCase()
    const device = this.#devices.find((each) => each.names.includes(name))
    const refuse = (error: number) =>
      writeReply(xid, 'success', (into) => into.uint(error).uint(0).uint(0).uint(0))
    if (!device?.isThere) return refuse(ERROR.notAccessible)
    const lid = this.#next++
    const link: Vxi11Link = {
      lid,
      drop: () => socket.resetAndDestroy(),
      requestService: () => this.#requestService(lid),
    }
    const held: Held = { link, device, socket, handle: undefined }
    if (wantsLock && !(await device.lock.request(link, '', timeoutMs))) return refuse(ERROR.lockedByAnother)
    if (socket.destroyed) device.lock.release(link)
    else {
      this.#links.set(lid, held)
      device.links.add(link)
    }
    return writeReply(xid, 'success', (into) =>
      into.uint(ERROR.none).uint(lid).uint(this.#abort.port).uint(LARGEST),
    )
  }

  async #write(xid: number, args: XdrReader, held: Held | undefined): Promise<Uint8Array> {
    args.uint()
    const timeoutMs = args.uint()
    const flags = args.uint()
    const data = textOf(args.opaque())
    const error = await this.#mayUse(held, (flags & FLAG.waitLock) !== 0 ? timeoutMs : 0)
    if (error === ERROR.none) held!.device.hear(data, (flags & FLAG.end) !== 0)
    return writeReply(xid, 'success', (into) => into.uint(error).uint(error === ERROR.none ? data.length : 0))
  }

  async #read(call: RpcCall, held: Held | undefined): Promise<Uint8Array> {
    const { xid, args } = call
    const most = args.uint()
    const timeoutMs = args.uint()
    const lockMs = args.uint()
    const flags = args.uint()
    const termchar = String.fromCharCode(args.uint() & 0xff)
    const error = await this.#mayUse(held, (flags & FLAG.waitLock) !== 0 ? lockMs : 0)
    if (error !== ERROR.none) return writeReply(xid, 'success', (into) => into.uint(error).uint(0).uint(0))
    const { device, link } = held!
    this.#readBy.set(call, device)
    const got = await device.read(
      link,
      Math.max(1, most),
      timeoutMs,
      (flags & FLAG.termchar) !== 0 ? termchar : undefined,
    )
    return writeReply(xid, 'success', (into) =>
      into.uint(got.error).uint(got.reason).opaque(bytesOf(got.data)),
    )
  }

  /** Flags and times of Device_GenericParms, then whether the link may use the instrument. */
  #unlocked(held: Held | undefined, args: XdrReader): Promise<number> {
    const flags = args.uint()
    const lockMs = args.uint()
    args.uint()
    return this.#mayUse(held, (flags & FLAG.waitLock) !== 0 ? lockMs : 0)
  }

  async #mayUse(held: Held | undefined, waitMs: number): Promise<number> {
    if (held === undefined) return ERROR.invalidLink
    const { lock } = held.device
    if (lock.isOpenFor(held.link)) return ERROR.none
    if (waitMs <= 0) return ERROR.lockedByAnother
    return new Promise((resolve) => {
      const timer = this.#clock.after(waitMs, () => resolve(ERROR.lockedByAnother))
      lock.whenOpen(held.link, () => {
        timer.dispose()
        resolve(ERROR.none)
      })
    })
  }

  /** Connects back to a client of this computer; any other address is refused. */
  #createChannel(xid: number, args: XdrReader, socket: Socket): Uint8Array | Promise<Uint8Array> {
    const address = args.uint()
    const port = args.uint()
    if (this.#channels.has(socket)) return errorReply(xid, ERROR.channelAlreadyEstablished)
    if (address >>> 24 !== 127) return errorReply(xid, ERROR.channelNotEstablished)
    const host = [24, 16, 8, 0].map((shift) => (address >>> shift) & 0xff).join('.')
    return new Promise((resolve) => {
      const channel = connect({ host, port, noDelay: true })
      channel.on('error', () => {
        resolve(errorReply(xid, ERROR.channelNotEstablished))
        channel.destroy()
      })
      channel.once('connect', () => {
        this.#channels.set(socket, channel)
        resolve(errorReply(xid, ERROR.none))
      })
    })
  }

  #requestService(lid: number): void {
    const held = this.#links.get(lid)
    const channel = held && this.#channels.get(held.socket)
    if (held?.handle === undefined || channel === undefined || channel.destroyed) return
    const { handle } = held
    // One-way: no reply is waited for, so the transaction id tells nothing.
    channel.write(
      writeCall({ ...INTR, xid: lid, procedure: PROCEDURE.deviceIntrSrq }, (into) => into.opaque(handle)),
    )
  }

  #watch(socket: Socket): void {
    if (this.#watched.has(socket)) return
    this.#watched.add(socket)
    socket.on('close', () => {
      for (const held of [...this.#links.values()]) if (held.socket === socket) this.#forget(held)
      this.#channels.get(socket)?.destroy()
      this.#channels.delete(socket)
    })
  }

  #forget(held: Held): void {
    this.#links.delete(held.link.lid)
    held.device.forget(held.link)
  }
}

function errorReply(xid: number, error: number): Uint8Array {
  return writeReply(xid, 'success', (into) => into.uint(error))
}
