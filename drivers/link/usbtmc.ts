import type { Clock } from '../../app/base/clock.ts'
import { first, needed } from '../../app/base/lists.ts'
import { bytesOf } from '../../app/buses/packets.ts'
import { TYPE } from '../../app/buses/usb.ts'
import {
  CAPABILITIES_BYTES,
  CAPABILITY,
  EOM,
  HEADER_BYTES,
  MESSAGE,
  nextTag,
  REQUEST,
  readHeader,
  SERVICE_REQUEST,
  STATUS,
  STATUS_TAGS,
  USB488_PROTOCOL,
  writeAsk,
  writeBulk,
  writeTrigger,
} from '../../app/buses/usbtmc.ts'
import { MAV } from '../../app/buses/vxi11.ts'
import { asTold, said } from '../../app/messages/said.ts'
import { MessageEnd } from './message-end.ts'
import { takeAddress } from './owners.ts'
import { type OpenUsb, type UsbChoice, type UsbDevice, UsbStall, usbName } from './usb-device.ts'
import { type Cleared, type Connect, type Wire, WireFault, type WireListener } from './wire.ts'

export interface UsbtmcAddress extends UsbChoice {
  /** Whose device it is, where two computers may have one alike: their address; '' for this computer. */
  readonly at: string
  /** Ends what is received, as the profile says. */
  readonly terminator: string
  readonly owner: string
}

/** How long a device may take to accept a message. */
const IO_MS = 3000
/** Largest transfer sent, and asked for. */
const SEND_BYTES = 65_536
const READ_BYTES = 65_536
/** How often, and how many times, a device is asked whether it is done clearing or aborting. */
const CHECK_MS = 20
const CHECKS = 100

/** Opens an instrument on USB: the device for this program alone, capabilities, remote, service requests. */
export function usbtmcConnect(address: UsbtmcAddress, open: OpenUsb, clock: Clock): Connect {
  return async (listener, signal) => {
    const { vendor, product, serial = '', at, owner } = address
    const release = takeAddress(`usbtmc:${at}${vendor}:${product}:${serial}`, owner)
    const link = new UsbtmcLink(address, clock, listener, release)
    try {
      await link.open(open, signal)
    } catch (fault) {
      link.destroy()
      if (fault instanceof UsbStall)
        throw new WireFault('lost', said('usb-refuses-class', { address: usbName(address) }))
      throw fault
    }
    return link
  }
}

interface Job {
  readonly isTrigger?: boolean
  readonly bytes: Uint8Array
  readonly awaitMs: number | undefined
}

class UsbtmcLink implements Wire {
  readonly #clock: Clock
  readonly #listener: WireListener
  readonly #release: () => void
  readonly #choice: UsbChoice
  readonly #end: MessageEnd
  #device: UsbDevice | undefined
  #capabilities = 0
  #tag = 0
  #statusTag: number = STATUS_TAGS.last
  #jobs: Job[] = []
  #busy = false
  /** Tag of the transfer that is under way in each direction. */
  #sending: number | undefined
  #asked: number | undefined
  /** Counts the clears: what began before one ends without consequence. */
  #epoch = 0
  #onStatus: ((tag: number, status: number) => void) | undefined
  #over = false
  #ready = false

  constructor(address: UsbtmcAddress, clock: Clock, listener: WireListener, release: () => void) {
    this.#choice = address
    this.#clock = clock
    this.#listener = listener
    this.#release = release
    this.#end = new MessageEnd(address.terminator, listener)
  }

  async open(open: OpenUsb, signal: Parameters<OpenUsb>[2]): Promise<void> {
    this.#device = await open(this.#choice, { closed: (fault) => this.#finish(fault) }, signal)
    const told = await this.#ofInterface(REQUEST.getCapabilities, 0, CAPABILITIES_BYTES)
    if (told[0] !== STATUS.success)
      throw new WireFault('lost', said('usb-tells-no-capabilities', { choice: usbName(this.#choice) }))
    if (this.#device.tmc.protocol === USB488_PROTOCOL) this.#capabilities = told[14] ?? 0
    // What stood still for the program before this one goes again.
    await this.#device.clearHalt(this.#device.tmc.bulkOut)
    await this.#device.clearHalt(this.#device.tmc.bulkIn)
    if ((this.#capabilities & CAPABILITY.remote) !== 0) await this.#ofInterface(REQUEST.renControl, 1, 1)
    if (this.#over) throw new WireFault('lost', said('port-gone', { path: usbName(this.#choice) }))
    this.#ready = true
    void this.#listen(this.#device)
  }

  write(bytes: string, awaitMs?: number): void {
    if (this.#over) return
    this.#jobs.push({ bytes: bytesOf(bytes), awaitMs })
    if (!this.#busy) void this.#work()
  }

  /** TRIGGER where the interface has it (USB488 1.0, 3.2.1.1; number from memory), else the line. */
  trigger(line: string): void {
    if (this.#over) return
    const isTrigger = (this.#capabilities & CAPABILITY.trigger) !== 0
    this.#jobs.push({ bytes: bytesOf(line), awaitMs: undefined, isTrigger })
    if (!this.#busy) void this.#work()
  }

  /** Aborts what is under way, clears the device, and asks whether nothing is left to be read. */
  async clear(): Promise<Cleared> {
    this.#listener.note('device clear')
    this.#jobs = []
    this.#epoch += 1
    this.#busy = true
    try {
      if (!(await this.#abort()) || !(await this.#clearDevice())) return 'failed'
      const status = await this.#status()
      if (status !== undefined && (status & MAV) !== 0) return 'failed'
    } catch (fault) {
      if (!(fault instanceof UsbStall)) return 'failed'
      this.#finish(new WireFault('lost', said('usb-refuses-clear', { choice: usbName(this.#choice) })))
      return 'failed'
    }
    this.#busy = false
    return 'done'
  }

  destroy(): void {
    if (this.#over) return
    const device = this.#device
    // The front panel is given back; nobody waits for the answer.
    if (this.#ready && (this.#capabilities & CAPABILITY.remote) !== 0)
      this.#ofInterface(REQUEST.goToLocal, 0, 1).catch(() => undefined)
    this.#finish(undefined)
    device?.close()
  }

  async #work(): Promise<void> {
    const epoch = this.#epoch
    this.#busy = true
    try {
      for (let job = this.#jobs.shift(); job !== undefined; job = this.#jobs.shift()) {
        const isDone = await this.#exchange(job, epoch)
        if (!isDone || epoch !== this.#epoch) return
      }
    } catch (fault) {
      if (epoch !== this.#epoch || this.#over) return
      // What stalled is cleared with the device, once whoever waits has given up.
      if (fault instanceof UsbStall) this.#listener.note('the instrument refused a transfer (stall)')
      else this.#finish(fault instanceof WireFault ? fault : new WireFault('lost', asTold(String(fault))))
      return
    }
    this.#busy = false
  }

  /**
   * One message, and the answer to it where one is awaited, until its end. What is sent and what is received are under way
   * together: the device takes transfers in their order. An answer that does not come in time is left to whoever waits.
   */
  async #exchange({ bytes, awaitMs, isTrigger }: Job, epoch: number): Promise<boolean> {
    const sent = isTrigger === true ? this.#sendTrigger() : this.#send(bytes)
    if (awaitMs === undefined) return sent
    // Of a message in several transfers the last one is not on its way before the others were taken.
    if (bytes.length > SEND_BYTES && !(await sent)) return false
    const untilUs = this.#clock.now().monoUs + awaitMs * 1000
    let [isSent, isLast] = await Promise.all([sent, this.#read(awaitMs, untilUs, epoch)])
    while (isSent && isLast === false && epoch === this.#epoch) {
      const leftMs = (untilUs - this.#clock.now().monoUs) / 1000
      isLast = await this.#read(leftMs, untilUs, epoch)
    }
    return isSent && isLast === true
  }

  /** One message, in as many transfers as it takes; the last one says that it ends. False: not taken in time. */
  async #send(bytes: Uint8Array): Promise<boolean> {
    for (let at = 0; at < bytes.length || at === 0; at += SEND_BYTES) {
      const part = bytes.subarray(at, at + SEND_BYTES)
      const tag = this.#nextTag()
      const transfer = writeBulk(MESSAGE.devDepOut, tag, part, at + part.length === bytes.length)
      if (!(await this.#transfer(tag, transfer))) return false
    }
    return true
  }

  #sendTrigger(): Promise<boolean> {
    const tag = this.#nextTag()
    return this.#transfer(tag, writeTrigger(tag))
  }

  /** The device, from its opening on. */
  get #held(): UsbDevice {
    return needed(this.#device, 'device')
  }

  /** One transfer to the device; false where it is not taken in time. */
  async #transfer(tag: number, transfer: Uint8Array): Promise<boolean> {
    const device = this.#held
    this.#sending = tag
    if (!(await device.send(device.tmc.bulkOut, transfer, IO_MS))) {
      this.#listener.note('the instrument does not take what is sent')
      return false
    }
    this.#sending = undefined
    return true
  }

  /**
   * Asks for part of a message and reads it: whether the message ends with it; undefined where it did not come in time.
   */
  async #read(awaitMs: number, untilUs: number, epoch: number): Promise<boolean | undefined> {
    const device = this.#held
    const { bulkOut, bulkIn, packetBytes } = device.tmc
    const length = transferBytes(packetBytes)
    const tag = this.#nextTag()
    this.#asked = tag
    const asking = device.send(bulkOut, writeAsk(tag, READ_BYTES), IO_MS)
    let receiving = device.receive(bulkIn, length, Math.max(1, awaitMs))
    // Where asking fails nobody waits for what would have been received.
    receiving.catch(() => undefined)
    if (!(await asking)) return undefined
    for (;;) {
      const bytes = await receiving
      if (epoch !== this.#epoch || bytes === undefined) return undefined
      const isLast = this.#take(bytes, tag)
      if (isLast !== undefined) {
        this.#asked = undefined
        return isLast
      }
      const leftMs = (untilUs - this.#clock.now().monoUs) / 1000
      if (leftMs <= 0) return undefined
      receiving = device.receive(bulkIn, length, leftMs)
    }
  }

  /** Takes one transfer: whether the message ends with it; undefined where it is not the one that was asked for. */
  #take(bytes: Uint8Array, tag: number): boolean | undefined {
    const header = readHeader(bytes)
    if (header === undefined || header.message !== MESSAGE.devDepIn) {
      this.#listener.note('a transfer came that is no answer, and was thrown away')
      return undefined
    }
    if (header.tag !== tag) {
      this.#listener.note('an answer to another question was thrown away by its tag')
      return undefined
    }
    const data = bytes.subarray(HEADER_BYTES, HEADER_BYTES + header.size)
    this.#end.data(data)
    if (data.length < header.size) {
      this.#listener.note('a transfer ended before all of it had come')
      return undefined
    }
    if ((header.attributes & EOM) === 0) return false
    this.#end.end()
    return true
  }

  /** Ends the transfers that are under way (USBTMC 1.0, 4.2.1.2 to 4.2.1.5; from memory). */
  async #abort(): Promise<boolean> {
    const { tmc } = this.#held
    const sending = this.#sending
    const asked = this.#asked
    this.#sending = undefined
    this.#asked = undefined
    await this.#held.cancel(tmc.bulkIn)
    if (sending !== undefined) {
      const [status] = await this.#ofEndpoint(REQUEST.initiateAbortBulkOut, sending, tmc.bulkOut, 2)
      if (
        status === STATUS.success &&
        !(await this.#settled(REQUEST.checkAbortBulkOutStatus, tmc.bulkOut, 8))
      )
        return false
      await this.#held.clearHalt(tmc.bulkOut)
    }
    if (asked === undefined) return true
    const [status] = await this.#ofEndpoint(REQUEST.initiateAbortBulkIn, asked, tmc.bulkIn, 2)
    if (status !== STATUS.success) return true
    // The device ends the transfer with a short packet, which has to be read.
    await this.#discard()
    return this.#settled(REQUEST.checkAbortBulkInStatus, tmc.bulkIn, 8)
  }

  /** INITIATE_CLEAR, what it leaves to be read, and the endpoint that it halts (USBTMC 1.0, 4.2.1.6 and 4.2.1.7; from memory). */
  async #clearDevice(): Promise<boolean> {
    const { tmc } = this.#held
    const [begun] = await this.#ofInterface(REQUEST.initiateClear, 0, 1)
    if (begun !== STATUS.success) return false
    if (!(await this.#settled(REQUEST.checkClearStatus, undefined, 2))) return false
    await this.#held.clearHalt(tmc.bulkOut)
    await this.#held.clearHalt(tmc.bulkIn)
    return true
  }

  /** Asks until the device is done; what it still has to be read is read and thrown away. */
  async #settled(request: number, endpoint: number | undefined, length: number): Promise<boolean> {
    for (let i = 0; i < CHECKS; i++) {
      const told =
        endpoint === undefined
          ? await this.#ofInterface(request, 0, length)
          : await this.#ofEndpoint(request, 0, endpoint, length)
      if (told[0] !== STATUS.pending) return told[0] === STATUS.success
      const holdsData = request !== REQUEST.checkAbortBulkOutStatus && ((told[1] ?? 0) & 1) !== 0
      if (holdsData) await this.#discard()
      else await this.#clock.sleep(CHECK_MS)
    }
    return false
  }

  async #discard(): Promise<void> {
    const device = this.#held
    const { tmc } = device
    const bytes = await device.receive(tmc.bulkIn, transferBytes(tmc.packetBytes), CHECK_MS * 10)
    if (bytes !== undefined && bytes.length > 0)
      this.#listener.note('an answer was thrown away by the device clear')
  }

  /** The status byte: in the answer, or through the interrupt endpoint where there is one (USB488 1.0, 4.3.1). */
  async #status(): Promise<number | undefined> {
    if (this.#held.tmc.protocol !== USB488_PROTOCOL) return undefined
    this.#statusTag = this.#statusTag >= STATUS_TAGS.last ? STATUS_TAGS.first : this.#statusTag + 1
    const wanted = this.#statusTag
    const heard = new Promise<number | undefined>((resolve) => {
      const deadline = this.#clock.after(IO_MS, () => resolve(undefined))
      this.#onStatus = (tag, status) => {
        if (tag !== wanted) return
        deadline.dispose()
        resolve(status)
      }
    })
    const told = await this.#ofInterface(REQUEST.readStatusByte, wanted, 3)
    if (told[0] !== STATUS.success || told[1] !== wanted) return MAV
    if (this.#held.tmc.interruptIn === undefined) {
      this.#onStatus?.(wanted, 0)
      return told[2]
    }
    return (await heard) ?? MAV
  }

  /** Service requests and status bytes, for as long as the device is held. */
  async #listen(device: UsbDevice): Promise<void> {
    const { interruptIn } = device.tmc
    if (interruptIn === undefined) return
    try {
      while (!this.#over) {
        const told = await device.receive(interruptIn, 2)
        if (told === undefined || told.length < 2) continue
        if (told[0] === SERVICE_REQUEST) this.#listener.serviceRequest(told[1])
        else this.#onStatus?.(first(told) & 0x7f, told[1]!)
      }
    } catch {
      // The device is gone, which its other transfers tell, or its interrupt endpoint stands still: it cannot ask for service.
    }
  }

  #nextTag(): number {
    this.#tag = nextTag(this.#tag)
    return this.#tag
  }

  #ofInterface(request: number, value: number, length: number): Promise<Uint8Array> {
    const { number } = this.#held.tmc
    return this.#held.control({ type: TYPE.classInInterface, request, value, index: number, length })
  }

  #ofEndpoint(request: number, value: number, endpoint: number, length: number): Promise<Uint8Array> {
    return this.#held.control({ type: TYPE.classInEndpoint, request, value, index: endpoint, length })
  }

  #finish(fault: WireFault | undefined): void {
    if (this.#over) return
    this.#over = true
    this.#epoch += 1
    this.#release()
    if (fault === undefined) return
    this.#device?.close()
    if (this.#ready) this.#listener.closed(fault)
  }
}

/** Header, most data and filling, as whole packets: a device never sends more than was asked for. */
const transferBytes = (packetBytes: number): number =>
  Math.ceil((HEADER_BYTES + READ_BYTES + 4) / Math.max(packetBytes, 1)) * Math.max(packetBytes, 1)
