import type { Clock } from '../../app/base/clock.ts'
import { bytesOf } from '../../app/buses/packets.ts'
import { isVisaError, VISA_STATUS, type VisaAsk, type VisaTold } from '../../app/buses/visa.ts'
import { MAV } from '../../app/buses/vxi11.ts'
import { said } from '../../app/messages/said.ts'
import { MessageEnd } from './message-end.ts'
import { takeAddress } from './owners.ts'
import { VisaPeer } from './visa-peer.ts'
import { type Cleared, type Connect, type Wire, WireFault, type WireListener } from './wire.ts'

export interface VisaAddress {
  /** As the library names it: GPIB0::5::INSTR. */
  readonly resource: string
  /** File of the library; absent: the one that the system finds under its usual name. */
  readonly library: string | undefined
  /** Leaves the instrument open to other programs; else it is locked for this one. */
  readonly shared: boolean
  /** Ends what is received, as the profile says. */
  readonly terminator: string
  readonly connectMs: number
  readonly owner: string
}

/** How long an instrument may take to accept a message or a bus command. */
const IO_MS = 3000
/** What the library may take longer than it was told to: beyond it, it hangs. */
const GRACE_MS = 2000
/** From the start of the process to the library's first answer. */
const START_MS = 10_000
const READ_BYTES = 65_536

/** Opens an instrument through the computer's own VISA library, in a process of its own. */
export function visaConnect(address: VisaAddress, clock: Clock): Connect {
  return async (listener) => {
    const release = takeAddress(`visa:${address.resource}`, address.owner)
    let link: VisaLink | undefined
    try {
      link = new VisaLink(address, clock, listener, release)
      await link.open()
      return link
    } catch (fault) {
      if (link === undefined) release()
      else link.destroy()
      throw fault
    }
  }
}

/** The instruments that the library knows, by the names of its resources. */
export async function findVisa(clock: Clock, library?: string): Promise<readonly string[]> {
  const peer = new VisaPeer(clock, () => undefined)
  try {
    const told = await peer.ask({ ask: 'find', library }, START_MS)
    if (isVisaError(told.status)) throw explain(told, 'The VISA library')
    return told.names ?? []
  } finally {
    peer.close()
  }
}

interface Job {
  readonly isTrigger?: boolean
  readonly bytes: Uint8Array
  readonly awaitMs: number | undefined
}

class VisaLink implements Wire {
  readonly #address: VisaAddress
  readonly #clock: Clock
  readonly #listener: WireListener
  readonly #release: () => void
  readonly #end: MessageEnd
  readonly #peer: VisaPeer
  #jobs: Job[] = []
  /** Jobs are being done, or one failed and nothing more is sent before the device is cleared. */
  #busy = false
  #working: Promise<void> = Promise.resolve()
  /** Counts the clears: what began before one ends without consequence. */
  #epoch = 0
  #over = false
  #ready = false
  #fault: WireFault | undefined

  constructor(address: VisaAddress, clock: Clock, listener: WireListener, release: () => void) {
    this.#address = address
    this.#clock = clock
    this.#listener = listener
    this.#release = release
    this.#end = new MessageEnd(address.terminator, listener)
    this.#peer = new VisaPeer(clock, (fault) => this.#finish(fault))
  }

  async open(): Promise<void> {
    const { library, resource, shared, connectMs } = this.#address
    const told = await this.#ask(
      { ask: 'open', library, resource, shared, openMs: connectMs },
      START_MS + connectMs,
    )
    if (isVisaError(told.status)) throw explain(told, resource)
    this.#ready = true
  }

  write(bytes: string, awaitMs?: number): void {
    if (this.#over) return
    this.#jobs.push({ bytes: bytesOf(bytes), awaitMs })
    if (!this.#busy) this.#working = this.#run(this.#epoch)
  }

  /** viAssertTrigger; the line where the library has none for this resource. */
  trigger(line: string): void {
    if (this.#over) return
    this.#jobs.push({ bytes: bytesOf(line), awaitMs: undefined, isTrigger: true })
    if (!this.#busy) this.#working = this.#run(this.#epoch)
  }

  /** Device clear, once the library has come back from what it was asked before; then whether nothing is left to be read. */
  async clear(): Promise<Cleared> {
    this.#listener.note('device clear')
    this.#jobs = []
    this.#epoch += 1
    await this.#working
    if (this.#over) return 'failed'
    try {
      const cleared = await this.#ask({ ask: 'clear' }, IO_MS + GRACE_MS)
      const isSupported = cleared.status >>> 0 !== VISA_STATUS.notSupported
      if (isVisaError(cleared.status) && isSupported) {
        this.#listener.note(explain(cleared, 'device clear').message)
        return 'failed'
      }
      const status = await this.#ask({ ask: 'status' }, IO_MS + GRACE_MS)
      if (!isVisaError(status.status) && ((status.byte ?? 0) & MAV) !== 0) return 'failed'
      this.#busy = false
      return isSupported ? 'done' : 'unsupported'
    } catch {
      return 'failed'
    }
  }

  destroy(): void {
    this.#finish(undefined)
  }

  async #run(epoch: number): Promise<void> {
    this.#busy = true
    try {
      for (
        let job = this.#jobs.shift();
        job !== undefined && epoch === this.#epoch;
        job = this.#jobs.shift()
      ) {
        const triggered = job.isTrigger && (await this.#ask({ ask: 'trigger' }, IO_MS + GRACE_MS))
        if (epoch !== this.#epoch) return
        const isDone = triggered && triggered.status >>> 0 !== VISA_STATUS.notSupported
        const sent = isDone
          ? triggered
          : await this.#ask({ ask: 'write', bytes: job.bytes, waitMs: IO_MS }, IO_MS + GRACE_MS)
        if (epoch !== this.#epoch) return
        if (isVisaError(sent.status)) return this.#refuse(sent)
        if (job.awaitMs !== undefined && !(await this.#read(job.awaitMs, epoch))) return
      }
      // In the same turn in which nothing more was found to do: what is written from now on begins anew.
      this.#busy = false
    } catch {
      // The process is gone, which the listener has been told.
    }
  }

  /** Reads one message until its end. An answer that has not come in time, all its parts, is left to whoever waits for it. */
  async #read(awaitMs: number, epoch: number): Promise<boolean> {
    const untilUs = this.#clock.now().monoUs + awaitMs * 1000
    for (let leftMs = awaitMs; ; leftMs = (untilUs - this.#clock.now().monoUs) / 1000) {
      const waitMs = Math.max(1, Math.ceil(leftMs))
      const told = await this.#ask({ ask: 'read', most: READ_BYTES, waitMs }, waitMs + GRACE_MS)
      if (epoch !== this.#epoch) {
        if (told.data !== undefined && told.data.length > 0)
          this.#listener.note(
            'an answer to another question was thrown away: it came while the device was cleared',
          )
        return false
      }
      if (told.data !== undefined) this.#end.data(told.data)
      if (isVisaError(told.status)) {
        if (told.status >>> 0 !== VISA_STATUS.timeout) this.#refuse(told)
        return false
      }
      if (told.isPart !== true) {
        this.#end.end()
        return true
      }
      if (this.#clock.now().monoUs >= untilUs) return false
    }
  }

  /** The library refused what was sent or asked: whoever waits gives up in time, and the device is cleared. */
  #refuse(told: VisaTold): void {
    const fault = explain(told, this.#address.resource)
    if (told.status >>> 0 === VISA_STATUS.timeout) this.#listener.note(fault.message)
    else this.#finish(fault)
  }

  async #ask(ask: VisaAsk, withinMs: number): Promise<VisaTold> {
    try {
      return await this.#peer.ask(ask, withinMs)
    } catch (fault) {
      throw this.#fault ?? fault
    }
  }

  #finish(fault: WireFault | undefined): void {
    if (this.#over) return
    this.#over = true
    this.#fault = fault
    this.#epoch += 1
    this.#peer.close()
    this.#release()
    if (fault !== undefined && this.#ready) this.#listener.closed(fault)
  }
}

function explain({ status, words, call, isMissing }: VisaTold, name: string): WireFault {
  if (isMissing === true) {
    const where = 'Install one, or say in the link where its file is.'
    return new WireFault('refused', said('no-visa-library', { words, where }))
  }
  const code = status >>> 0
  const answer = `${call}: ${words || `status 0x${code.toString(16).toUpperCase()}`}`
  if (code === VISA_STATUS.locked || code === VISA_STATUS.busy) {
    const end = 'End it there, or let the bench share this instrument.'
    return new WireFault('refused', said('visa-locked', { name, answer, end }))
  }
  if (code === VISA_STATUS.notFound || code === VISA_STATUS.invalidName)
    return new WireFault('no-such-port', said('visa-knows-no-such', { name, answer }))
  return new WireFault('lost', said('visa-says', { name, answer }))
}
