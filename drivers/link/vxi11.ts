import type { Clock, StopSignal } from '../../app/base/clock.ts'
import { bytesOf } from '../../app/buses/packets.ts'
import type { RpcReply } from '../../app/buses/rpc.ts'
import { ASYNC, CORE, ERROR, ERROR_WORDS, FLAG, MAV, PROCEDURE, REASON } from '../../app/buses/vxi11.ts'
import type { XdrReader, XdrWriter } from '../../app/buses/xdr.ts'
import { type Said, said } from '../../app/messages/said.ts'
import { MessageEnd } from './message-end.ts'
import { takeAddress } from './owners.ts'
import { askPort, RpcChannel, resultOf } from './rpc-channel.ts'
import { InterruptChannel } from './vxi11-interrupts.ts'
import { type Cleared, type Connect, type Wire, WireFault, type WireListener } from './wire.ts'

export interface Vxi11Address {
  readonly host: string
  /** Port of the port mapper; 111 everywhere but in a lab without the right to it. */
  readonly portmapper: number
  /** inst0 of an instrument, gpib0,5 of a gateway. */
  readonly device: string
  /** Leaves the instrument open to other programs; else it is locked for this one. */
  readonly shared: boolean
  /** Listens for service requests: the instrument calls back, which a firewall may forbid. */
  readonly interrupts: boolean
  /** Ends what is received, as the profile says. */
  readonly terminator: string
  readonly connectMs: number
  readonly owner: string
}

/** How long an instrument may take to accept a message or a bus command. */
const IO_MS = 3000
/** What a reply to a call may take longer than the instrument itself. */
const GRACE_MS = 2000
const READ_BYTES = 65_536

/** Opens a link of VXI-11: port mapper, core channel, link with lock, remote; abort channel where it is needed. */
export function vxi11Connect(address: Vxi11Address, clock: Clock): Connect {
  return async (listener, signal) => {
    const { host, portmapper, device, owner } = address
    const release = takeAddress(`vxi-11:${host}:${portmapper}/${device}`, owner)
    const link = new Vxi11Link(address, clock, listener, release)
    try {
      await link.open(signal)
    } catch (fault) {
      link.destroy()
      throw fault
    }
    return link
  }
}

type Job =
  | { readonly text: string; readonly awaitMs: number | undefined }
  | { readonly trigger: string }
  | 'status'

/** So many messages are kept as the calls that send them: questions are the same again and again. */
const MOST_PREPARED = 200

class Vxi11Link implements Wire {
  readonly #address: Vxi11Address
  readonly #clock: Clock
  readonly #listener: WireListener
  readonly #release: () => void
  readonly #name: string
  readonly #end: MessageEnd
  readonly #stop = new AbortController()
  readonly #writes = new Map<string, Uint8Array>()
  readonly #reads = new Map<number, Uint8Array>()
  #core: RpcChannel | undefined
  #interrupts: InterruptChannel | undefined
  #lid = 0
  #abortPort = 0
  #largest = 1024
  #jobs: Job[] = []
  #busy = false
  #reading = false
  #clearing = false
  #over = false
  #ready = false

  constructor(address: Vxi11Address, clock: Clock, listener: WireListener, release: () => void) {
    this.#address = address
    this.#clock = clock
    this.#listener = listener
    this.#release = release
    this.#name = `${address.device} at ${address.host}`
    this.#end = new MessageEnd(address.terminator, listener)
  }

  async open(signal: StopSignal): Promise<void> {
    const { host, portmapper, connectMs, device, shared } = this.#address
    const port = await askPort({ host, port: portmapper, connectMs }, CORE, this.#clock, signal)
    this.#core = await RpcChannel.open(
      { host, port, connectMs },
      CORE,
      this.#clock,
      {
        closed: (fault) => this.#finish(fault),
        stray: () => this.#listener.note('a reply to another call was thrown away by its transaction id'),
      },
      signal,
    )
    const made = await this.#ask(
      PROCEDURE.createLink,
      connectMs,
      (into) => into.uint(process.pid).bool(!shared).uint(0).text(device),
      (results) => ({
        error: results.int(),
        lid: results.int(),
        abortPort: results.uint(),
        largest: results.uint(),
      }),
    )
    if (made === undefined) throw this.#fault('lost', said('vxi11-makes-no-link', {}))
    if (made.error === ERROR.lockedByAnother) throw this.#locked()
    if (made.error !== ERROR.none)
      throw this.#fault('refused', said('vxi11-refuses-link', { error: wordsOf(made.error) }))
    this.#lid = made.lid
    this.#abortPort = made.abortPort
    this.#largest = Math.max(1, Math.min(made.largest, 2 ** 20))
    await this.#generic(PROCEDURE.deviceRemote)
    if (this.#address.interrupts) {
      this.#interrupts = await InterruptChannel.open(this.#core.localAddress, () => this.#hearRequest())
      const ask = (procedure: number, args: (into: XdrWriter) => void) =>
        this.#ask(procedure, IO_MS, args, (results) => results.int())
      if (!(await this.#interrupts?.establish(ask, this.#lid)))
        this.#listener.note('the instrument takes no interrupt channel: it cannot ask for service')
    }
    if (this.#over) throw this.#fault('lost', said('vxi11-ended-connection', {}))
    this.#ready = true
  }

  write(bytes: string, awaitMs?: number): void {
    if (this.#over) return
    this.#jobs.push({ text: bytes, awaitMs })
    if (!this.#busy) this.#next()
  }

  trigger(line: string): void {
    if (this.#over) return
    this.#jobs.push({ trigger: line })
    if (!this.#busy) this.#next()
  }

  /** Aborts what is in progress, clears the device, and asks whether nothing is left to be read. */
  async clear(): Promise<Cleared> {
    this.#listener.note('device clear')
    this.#jobs = []
    this.#clearing = true
    if (this.#reading) await this.#abort()
    this.#core?.forget()
    const error = await this.#generic(PROCEDURE.deviceClear)
    if (error !== ERROR.none && error !== ERROR.notSupported) {
      if (error !== undefined) this.#refuse(error)
      return 'failed'
    }
    const status = await this.#status()
    this.#reading = false
    this.#busy = false
    this.#clearing = false
    if (status === 'lost' || (typeof status === 'number' && (status & MAV) !== 0)) return 'failed'
    this.#next()
    return error === ERROR.none ? 'done' : 'unsupported'
  }

  destroy(): void {
    if (this.#over) return
    const core = this.#core
    if (this.#ready && core !== undefined) {
      // The front panel is given back and the lock with the link; nobody waits for the replies.
      core.forget()
      core.call(
        PROCEDURE.deviceLocal,
        IO_MS,
        (into) => this.#writeGeneric(into),
        () => undefined,
      )
      core.forget()
      core.call(
        PROCEDURE.destroyLink,
        IO_MS,
        (into) => into.uint(this.#lid),
        () => undefined,
      )
    }
    this.#finish(undefined)
  }

  #next(): void {
    if (this.#over || this.#clearing) return
    const job = this.#jobs.shift()
    this.#busy = job !== undefined
    if (job === 'status') {
      this.#status().then((status) => {
        if (typeof status === 'number') this.#listener.serviceRequest(status)
        this.#next()
      })
    } else if (job !== undefined && 'trigger' in job) void this.#trigger(job.trigger)
    else if (job !== undefined) this.#write(job.text, job.awaitMs)
  }

  /** device_trigger (VXI-11, B.6.7; number from memory); the line where the instrument does not know it. */
  async #trigger(line: string): Promise<void> {
    const error = await this.#generic(PROCEDURE.deviceTrigger)
    if (this.#over || this.#clearing || error === undefined) return
    if (error === ERROR.notSupported) this.#write(line, undefined)
    else if (error === ERROR.none) this.#next()
    else this.#refuse(error)
  }

  /** One message, in as many calls as the instrument's size takes; the last one says END. */
  #write(text: string, awaitMs: number | undefined): void {
    this.#core!.repeat(this.#writeOf(text), IO_MS + GRACE_MS, (reply) => {
      const results = this.#resultsOf(reply)
      if (results === undefined) return
      const error = results.int()
      if (error !== ERROR.none) return this.#refuse(error)
      const taken = results.uint()
      if (taken < text.length) {
        if (taken === 0) return this.#refuse(ERROR.io)
        this.#write(text.slice(taken), awaitMs)
      } else if (awaitMs !== undefined) this.#read(awaitMs)
      else this.#next()
    })
  }

  #writeOf(text: string): Uint8Array {
    const known = this.#writes.get(text)
    if (known !== undefined) return known
    const part = bytesOf(text.slice(0, this.#largest))
    const flags = part.length === text.length ? FLAG.end : 0
    const call = this.#core!.prepare(PROCEDURE.deviceWrite, (into) =>
      into.uint(this.#lid).uint(IO_MS).uint(0).uint(flags).opaque(part),
    )
    if (text.endsWith('?\n') && this.#writes.size < MOST_PREPARED) this.#writes.set(text, call)
    return call
  }

  #readOf(awaitMs: number): Uint8Array {
    const known = this.#reads.get(awaitMs)
    if (known !== undefined) return known
    const call = this.#callToRead(awaitMs)
    if (this.#reads.size < MOST_PREPARED) this.#reads.set(awaitMs, call)
    return call
  }

  #callToRead(awaitMs: number): Uint8Array {
    return this.#core!.prepare(PROCEDURE.deviceRead, (into) =>
      into.uint(this.#lid).uint(READ_BYTES).uint(awaitMs).uint(0).uint(0).uint(0),
    )
  }

  /** Reads one message until END. An answer that has not come in time, all its parts, is left to whoever waits for it. */
  #read(awaitMs: number): void {
    this.#reading = true
    this.#readPart(this.#readOf(awaitMs), awaitMs, this.#clock.now().monoUs + awaitMs * 1000)
  }

  #readPart(call: Uint8Array, awaitMs: number, untilUs: number): void {
    this.#core!.repeat(call, awaitMs + GRACE_MS, (reply) => {
      const results = this.#resultsOf(reply)
      if (results === undefined) return
      const error = results.int()
      const reason = results.int()
      if (error === ERROR.ioTimeout || error === ERROR.abort) {
        this.#reading = false
        return this.#next()
      }
      if (error !== ERROR.none) return this.#refuse(error)
      const data = results.opaque()
      if ((reason & (REASON.end | REASON.character)) === 0) {
        this.#end.data(data)
        const leftMs = Math.ceil((untilUs - this.#clock.now().monoUs) / 1000)
        if (leftMs > 0) return this.#readPart(this.#callToRead(leftMs), leftMs, untilUs)
        this.#reading = false
        return this.#next()
      }
      this.#reading = false
      // The next question may be asked while the answer is handed over: it finds the link free.
      this.#next()
      this.#end.data(data)
      this.#end.end()
    })
  }

  /** Ends the call in progress through the abort channel, where the instrument has one. */
  async #abort(): Promise<void> {
    const { host, connectMs } = this.#address
    if (this.#abortPort === 0) return
    const quiet = { closed: () => undefined, stray: () => undefined }
    try {
      const address = { host, port: this.#abortPort, connectMs }
      const channel = await RpcChannel.open(address, ASYNC, this.#clock, quiet, this.#stop.signal)
      await new Promise<void>((resolve) => {
        channel.call(
          PROCEDURE.deviceAbort,
          connectMs,
          (into) => into.uint(this.#lid),
          () => resolve(),
        )
      })
      channel.close(true)
    } catch (fault) {
      // Without it the device clear waits until the read has timed out.
      this.#listener.note(`the abort channel cannot be opened: ${(fault as Error).message}`)
    }
  }

  #hearRequest(): void {
    if (this.#jobs.includes('status') || this.#over) return
    this.#jobs.push('status')
    if (!this.#busy) this.#next()
  }

  /** The status byte; what it is where the instrument does not tell it. */
  async #status(): Promise<number | 'untold' | 'lost'> {
    const told = await this.#ask(
      PROCEDURE.deviceReadStb,
      IO_MS + GRACE_MS,
      (into) => this.#writeGeneric(into),
      (results) => ({ error: results.int(), status: results.uint() & 0xff }),
    )
    if (told === undefined) return 'lost'
    return told.error === ERROR.none ? told.status : 'untold'
  }

  /** A call of Device_GenericParms that answers with its error alone; undefined where no reply came. */
  #generic(procedure: number): Promise<number | undefined> {
    return this.#ask(
      procedure,
      IO_MS + GRACE_MS,
      (into) => this.#writeGeneric(into),
      (results) => results.int(),
    )
  }

  #writeGeneric(into: XdrWriter): void {
    into.uint(this.#lid).uint(0).uint(0).uint(IO_MS)
  }

  #ask<T>(
    procedure: number,
    deadlineMs: number,
    args: (into: XdrWriter) => void,
    read: (results: XdrReader) => T,
  ): Promise<T | undefined> {
    return new Promise((resolve) => {
      if (this.#core === undefined) return resolve(undefined)
      this.#core.call(procedure, deadlineMs, args, (reply) => resolve(resultOf(reply, read)))
    })
  }

  /** The results of a reply that was accepted; without one the link is over. */
  #resultsOf(reply: RpcReply | undefined): XdrReader | undefined {
    if (reply?.status === 'success') return reply.results
    const trouble =
      reply === undefined ? said('call-not-answered', {}) : said('call-not-known', { status: reply.status })
    this.#finish(this.#fault('lost', trouble))
    return undefined
  }

  #refuse(error: number): void {
    this.#finish(
      error === ERROR.lockedByAnother
        ? this.#locked()
        : this.#fault('lost', said('vxi11-says', { error: wordsOf(error) })),
    )
  }

  #locked(): WireFault {
    return new WireFault('refused', said('vxi11-locked', { name: this.#name }))
  }

  #finish(fault: WireFault | undefined): void {
    if (this.#over) return
    this.#over = true
    this.#jobs = []
    this.#stop.abort(fault)
    this.#interrupts?.close()
    this.#core?.close(fault === undefined)
    this.#release()
    if (fault !== undefined && this.#ready) this.#listener.closed(fault)
  }

  #fault(code: 'lost' | 'refused', trouble: Said): WireFault {
    return new WireFault(code, said('link-trouble', { name: this.#name, trouble }))
  }
}

const wordsOf = (error: number): string => ERROR_WORDS[error] ?? `error ${error}`
