import type { Clock, Disposable, StopSignal } from '../../app/base/clock.ts'
import {
  DELIVERED,
  FIRST_ID,
  type HislipMessage,
  LOCK,
  messageCutter,
  nextId,
  REMOTE,
  readSize,
  TYPE,
  UNTOLD_ID,
  VERSION,
  writeMessage,
  writeSize,
} from '../../app/buses/hislip.ts'
import { bytesOf, type PacketCutter, textOf } from '../../app/buses/packets.ts'
import { MAV } from '../../app/buses/vxi11.ts'
import { type Said, said } from '../../app/messages/said.ts'
import { MessageEnd } from './message-end.ts'
import { takeAddress } from './owners.ts'
import { openTcp, type TcpSocket } from './tcp.ts'
import { type Cleared, type Connect, type Wire, WireFault, type WireListener } from './wire.ts'

export interface HislipAddress {
  readonly host: string
  readonly port: number
  /** Sub-address: hislip0, hislip1 ... */
  readonly device: string
  /** Leaves the instrument open to other programs; else it is locked for this one. */
  readonly shared: boolean
  /** Ends what is received, as the profile says. */
  readonly terminator: string
  readonly connectMs: number
  readonly owner: string
}

/** Largest payload taken, and what a server is told. */
const LARGEST = 2 ** 20
const HEADER_BYTES = 16
/** Vendor of this client: two letters that no vendor has registered (from memory). */
const VENDOR = 0x7878

/** Opens a session over HiSLIP in synchronized mode: both channels, message size, lock, remote. */
export function hislipConnect(address: HislipAddress, clock: Clock): Connect {
  return async (listener, signal) => {
    const { host, port, device, owner } = address
    const release = takeAddress(`hislip:${host}:${port}/${device}`, owner)
    const session = new HislipSession(address, clock, listener, release)
    try {
      await session.open(signal)
    } catch (fault) {
      session.destroy()
      throw fault
    }
    return session
  }
}

type Channel = 'sync' | 'async'

interface Asking {
  readonly type: number
  readonly done: (answer: HislipMessage | undefined) => void
  readonly deadline: Disposable
}

class HislipSession implements Wire {
  readonly #address: HislipAddress
  readonly #clock: Clock
  readonly #listener: WireListener
  readonly #release: () => void
  readonly #name: string
  readonly #end: MessageEnd
  readonly #sockets: Partial<Record<Channel, TcpSocket>> = {}
  readonly #asking: Partial<Record<Channel, Asking>> = {}
  #largest = 272
  #id = FIRST_ID
  /** MessageID whose answer is waited for; an answer to any other one is thrown away. */
  #expected: number | undefined
  #delivered = 0
  #clearing = false
  #refusal: string | undefined
  #over = false
  #ready = false

  constructor(address: HislipAddress, clock: Clock, listener: WireListener, release: () => void) {
    this.#address = address
    this.#clock = clock
    this.#listener = listener
    this.#release = release
    this.#name = `${address.device} at ${address.host}:${address.port}`
    this.#end = new MessageEnd(address.terminator, listener)
  }

  async open(signal: StopSignal): Promise<void> {
    await this.#join('sync', signal)
    const hello = await this.#ask(
      'sync',
      writeMessage(TYPE.initialize, 0, VERSION * 0x10000 + VENDOR, bytesOf(this.#address.device)),
      TYPE.initializeResponse,
    )
    if (hello === undefined) throw this.#fault(said('begins-no-session', {}))
    await this.#join('async', signal)
    const session = hello.parameter & 0xffff
    const joined = await this.#ask(
      'async',
      writeMessage(TYPE.asyncInitialize, 0, session),
      TYPE.asyncInitializeResponse,
    )
    if (joined === undefined) throw this.#fault(said('joins-no-channels', {}))
    const size = await this.#ask(
      'async',
      writeMessage(TYPE.asyncMaximumMessageSize, 0, 0, writeSize(LARGEST)),
      TYPE.asyncMaximumMessageSizeResponse,
    )
    if (size !== undefined)
      this.#largest = Math.max(1, Math.min(LARGEST, readSize(size.payload) - HEADER_BYTES))
    if (!this.#address.shared) await this.#lock()
    await this.#ask(
      'async',
      writeMessage(TYPE.asyncRemoteLocalControl, REMOTE.enableAndGo, this.#lastId),
      TYPE.asyncRemoteLocalResponse,
    )
    if (this.#over) throw this.#fault(said('ended-session', {}))
    this.#ready = true
  }

  write(bytes: string, awaitMs?: number): void {
    if (this.#over) return
    const payload = bytesOf(bytes)
    for (let at = 0; ; at += this.#largest) {
      const last = at + this.#largest >= payload.length
      const part = last && at === 0 ? payload : payload.subarray(at, at + this.#largest)
      this.#send('sync', writeMessage(last ? TYPE.dataEnd : TYPE.data, this.#delivered, this.#id, part))
      this.#delivered = 0
      this.#id = nextId(this.#id)
      if (last) break
    }
    this.#expected = awaitMs === undefined ? undefined : this.#lastId
  }

  /** Trigger counts as a message and has no answer (IVI-6.1, 6.8; number from memory). */
  trigger(): void {
    if (this.#over) return
    this.#send('sync', writeMessage(TYPE.trigger, this.#delivered, this.#id))
    this.#delivered = 0
    this.#id = nextId(this.#id)
    this.#expected = undefined
  }

  /** Device clear (IVI-6.1, 3.1.3 and 6.12; numbers from memory), then whether nothing is left to be read. */
  async clear(): Promise<Cleared> {
    this.#listener.note('device clear')
    this.#expected = undefined
    this.#clearing = true
    const heard = await this.#ask(
      'async',
      writeMessage(TYPE.asyncDeviceClear, 0, 0),
      TYPE.asyncDeviceClearAcknowledge,
    )
    if (heard === undefined) return 'failed'
    const done = await this.#ask(
      'sync',
      writeMessage(TYPE.deviceClearComplete, 0, 0),
      TYPE.deviceClearAcknowledge,
    )
    if (done === undefined) return 'failed'
    this.#clearing = false
    this.#id = FIRST_ID
    this.#delivered = 0
    if ((done.control & 1) !== 0) {
      this.#finish(this.#fault(said('insists-on-overlap', {})))
      return 'failed'
    }
    const status = await this.#ask(
      'async',
      writeMessage(TYPE.asyncStatusQuery, 0, this.#lastId),
      TYPE.asyncStatusResponse,
    )
    return status === undefined || (status.control & MAV) !== 0 ? 'failed' : 'done'
  }

  destroy(): void {
    if (this.#over) return
    // The front panel is given back; the lock ends with the session.
    if (this.#ready)
      this.#send('async', writeMessage(TYPE.asyncRemoteLocalControl, REMOTE.goToLocal, this.#lastId))
    this.#finish(undefined)
  }

  get #lastId(): number {
    return (this.#id - 2) >>> 0
  }

  async #lock(): Promise<void> {
    const got = await this.#ask(
      'async',
      writeMessage(TYPE.asyncLock, LOCK.request, 0),
      TYPE.asyncLockResponse,
    )
    if (got !== undefined && got.control === LOCK.success) return
    const info = await this.#ask('async', writeMessage(TYPE.asyncLockInfo, 0, 0), TYPE.asyncLockInfoResponse)
    const others = info === undefined ? '' : ` (${info.parameter} hold a lock)`
    throw new WireFault('refused', said('hislip-locked', { name: this.#name, others }))
  }

  async #join(channel: Channel, signal: StopSignal): Promise<void> {
    const cutter = messageCutter(LARGEST, (message) => this.#hear(channel, message))
    this.#sockets[channel] = await openTcp(
      this.#address,
      this.#clock,
      { data: (chunk) => this.#push(cutter, chunk), closed: (fault) => this.#finish(fault) },
      signal,
    )
    if (this.#over) this.#sockets[channel]?.destroy()
  }

  #push(cutter: PacketCutter, chunk: Uint8Array): void {
    try {
      cutter.push(chunk)
    } catch (fault) {
      this.#finish(this.#fault(said('sent-nonsense', { message: (fault as Error).message })))
    }
  }

  #send(channel: Channel, bytes: Uint8Array): void {
    this.#sockets[channel]?.write(bytes)
  }

  /** Sends one message and waits for the one that answers it; undefined where it does not come in time. */
  #ask(channel: Channel, bytes: Uint8Array, type: number): Promise<HislipMessage | undefined> {
    if (this.#over) return Promise.resolve(undefined)
    return new Promise((resolve) => {
      const done = (answer: HislipMessage | undefined) => {
        this.#asking[channel]?.deadline.dispose()
        delete this.#asking[channel]
        resolve(answer)
      }
      const deadline = this.#clock.after(this.#address.connectMs, () => done(undefined))
      this.#asking[channel] = { type, done, deadline }
      this.#send(channel, bytes)
    })
  }

  #hear(channel: Channel, message: HislipMessage): void {
    const asking = this.#asking[channel]
    if (asking?.type === message.type) {
      asking.done({ ...message, payload: message.payload.slice() })
      return
    }
    switch (message.type) {
      case TYPE.data:
      case TYPE.dataEnd:
        this.#hearData(message)
        break
      case TYPE.asyncServiceRequest:
        this.#listener.serviceRequest(message.control)
        break
      case TYPE.fatalError:
        this.#refusal = textOf(message.payload)
        this.#finish(
          this.#fault(
            said('ended-session-because', { refusal: this.#refusal || `error ${message.control}` }),
          ),
        )
        break
      case TYPE.error:
        this.#listener.note(`the instrument refused a message: ${textOf(message.payload) || message.control}`)
        asking?.done(undefined)
        break
      case TYPE.interrupted:
      case TYPE.asyncInterrupted:
        this.#listener.note('the instrument threw an answer away that had not been read')
        break
      default:
        this.#listener.note(`a message of type ${message.type} came that nobody had asked for`)
    }
  }

  /** An answer is believed only where its MessageID is that of the question which waits (IVI-6.1, 3.1.2; from memory). */
  #hearData({ type, parameter, payload }: HislipMessage): void {
    if (this.#clearing) return
    const untold = type === TYPE.data && parameter === UNTOLD_ID && this.#expected !== undefined
    if (parameter !== this.#expected && !untold) {
      this.#listener.note('an answer to another question was thrown away by its message id')
      return
    }
    this.#end.data(payload)
    if (type !== TYPE.dataEnd) return
    this.#expected = undefined
    this.#delivered = DELIVERED
    this.#end.end()
  }

  #finish(fault: WireFault | undefined): void {
    if (this.#over) return
    this.#over = true
    for (const channel of ['sync', 'async'] as const) {
      if (fault === undefined) this.#sockets[channel]?.finish()
      else this.#sockets[channel]?.destroy()
      this.#asking[channel]?.done(undefined)
    }
    this.#release()
    if (fault !== undefined && this.#ready) this.#listener.closed(fault)
  }

  #fault(why: Said): WireFault {
    return new WireFault('lost', said('link-trouble', { name: this.#name, trouble: this.#refusal ?? why }))
  }
}
