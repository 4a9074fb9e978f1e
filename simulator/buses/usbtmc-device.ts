import { bytesOf, textOf } from '../../app/buses/packets.ts'
import { ENDPOINT_HALT, STANDARD, TYPE, type UsbSetup } from '../../app/buses/usb.ts'
import {
  CAPABILITY,
  DEVICE_CAPABILITY,
  EOM,
  HEADER_BYTES,
  MESSAGE,
  REQUEST,
  readHeader,
  SERVICE_REQUEST,
  STATUS,
  STATUS_TAGS,
  writeBulk,
} from '../../app/buses/usbtmc.ts'
import { MAV } from '../../app/buses/vxi11.ts'
import type { FaultDesk } from '../faults/desk.ts'
import type { BusManners, PortEvents } from '../instruments/port.ts'
import { BusDevice, MESSAGE_FAULTS, polledStatus } from './bus-device.ts'
import { descriptorOf, ENDPOINT } from './usb-descriptors.ts'

/** Who has the device: told when there is something to give it. */
export interface UsbHolder {
  /** An endpoint to the host has something to say, or has begun to stall. */
  ready(endpoint: number): void
  drop(): void
}

/** Most packets that wait on the interrupt endpoint; what comes on top of them is left out. */
const MOST_NOTICES = 16

/**
 * An instrument as a USB device: USBTMC with USB488, as strict as the class demands (USBTMC 1.0, 3 and 4; USB488 1.0, 3 and 4;
 * from memory). A transfer that breaks its rules halts the endpoint until the halt is cleared.
 */
export class UsbtmcDevice extends BusDevice {
  readonly serial: string
  readonly bus: BusManners
  readonly #halted = new Set<number>()
  #holder: UsbHolder | undefined
  #other = false
  /** Answers that wait to be asked for. */
  #output: string[] = []
  /** Transfers that wait to be fetched from an endpoint. */
  #inbox: Record<number, Uint8Array[]> = {}
  #request: { readonly tag: number; readonly size: number } | undefined
  #lastTag = 0
  #wantsService = false

  constructor(serial: string, desk: FaultDesk, events: PortEvents) {
    super(desk, events)
    this.serial = serial
    this.bus = {
      faults: [...MESSAGE_FAULTS, 'stall'],
      requestService: (status) => {
        this.#wantsService = true
        this.#notice(SERVICE_REQUEST, status)
      },
      dropLink: () => this.drop(),
      lockByOther: () => {
        this.#other = true
        this.drop()
      },
      unlockByOther: () => {
        this.#other = false
      },
      stall: () => {
        this.#halt(ENDPOINT.bulkOut)
        this.#halt(ENDPOINT.bulkIn)
      },
    }
    this.#reset()
  }

  get connected(): boolean {
    return this.#holder !== undefined
  }

  /** Gives the device to one program; false while another one has it. */
  take(holder: UsbHolder): boolean {
    if (this.#holder !== undefined || this.#other) return false
    this.#holder = holder
    return true
  }

  giveBack(holder: UsbHolder): void {
    if (this.#holder !== holder) return
    this.#holder = undefined
    this.#reset()
    this.events.onGone()
  }

  drop(): void {
    this.#holder?.drop()
  }

  /** One answer of the instrument: it waits to be asked for. */
  write(text: string): void {
    this.#output.push(text)
    this.#answer()
  }

  /** A control transfer: what is given, or undefined where it is refused. */
  control({ type, request, value, index, length }: UsbSetup): Uint8Array | undefined {
    const told =
      type === TYPE.classInInterface && index === 0
        ? this.#ofInterface(request, value)
        : type === TYPE.classInEndpoint
          ? this.#ofEndpoint(request, value, index)
          : this.#standard(type, request, value, index)
    return told?.subarray(0, length)
  }

  /** A transfer to the instrument: whether it was taken; else the endpoint stands still. */
  takeBulk(bytes: Uint8Array): boolean {
    if (this.#halted.has(ENDPOINT.bulkOut)) return false
    const header = readHeader(bytes)
    if (
      header === undefined ||
      header.tag === this.#lastTag ||
      !this.#isTaken(header.message, header.size, bytes)
    ) {
      this.#halt(ENDPOINT.bulkOut)
      return false
    }
    this.#lastTag = header.tag
    if (header.message === MESSAGE.trigger) this.events.onTrigger()
    else if (header.message === MESSAGE.requestDevDepIn) {
      this.#request = { tag: header.tag, size: header.size }
      this.#answer()
    } else
      this.#hear(
        textOf(bytes.subarray(HEADER_BYTES, HEADER_BYTES + header.size)),
        (header.attributes & EOM) !== 0,
      )
    return true
  }

  /** Fetches from an endpoint to the host: 'stall', what is there, or nothing yet. */
  fetch(endpoint: number, length: number): Uint8Array | 'stall' | undefined {
    if (this.#halted.has(endpoint)) return 'stall'
    const waiting = this.#inbox[endpoint]
    const bytes = waiting?.shift()
    // A transfer longer than what was asked for goes on with the next one.
    if (bytes !== undefined && bytes.length > length) waiting!.unshift(bytes.subarray(length))
    return bytes?.subarray(0, length)
  }

  /** Whether a transfer keeps the rules of its message: reserved bytes, sizes, filling up to four bytes with zeros. */
  #isTaken(message: number, size: number, bytes: Uint8Array): boolean {
    if (bytes[3] !== 0) return false
    if (message === MESSAGE.trigger)
      return bytes.length === HEADER_BYTES && bytes.subarray(4).every((byte) => byte === 0)
    if (size === 0) return false
    if (message === MESSAGE.requestDevDepIn)
      return (
        bytes.length === HEADER_BYTES && this.#request === undefined && bytes[10] === 0 && bytes[11] === 0
      )
    if (message !== MESSAGE.devDepOut) return false
    const whole = (HEADER_BYTES + size + 3) & ~3
    const isFilled = bytes.subarray(HEADER_BYTES + size).every((byte) => byte === 0)
    return bytes.length === whole && isFilled && bytes.subarray(9, HEADER_BYTES).every((byte) => byte === 0)
  }

  /** Part of a message, or its end. A message that comes before the last answer was read interrupts it (IEEE 488.2, 6.3.2.3; from memory). */
  #hear(text: string, isEnd: boolean): void {
    if (this.#output.length > 0 || this.#request !== undefined) {
      this.#output = []
      this.#request = undefined
      this.events.onInterrupted()
    }
    this.pass(text, isEnd)
  }

  /** Gives an answer to the request that waits for one. */
  #answer(): void {
    const request = this.#request
    const text = this.#output[0]
    if (request === undefined || text === undefined) return
    this.#request = undefined
    const part = text.slice(0, request.size)
    const rest = text.slice(request.size)
    if (rest === '') this.#output.shift()
    else this.#output[0] = rest
    // The instruments end a message with their new line: an answer that broke off has no end.
    const isEnd = rest === '' && text.endsWith('\n')
    const packet = (tag: number) => writeBulk(MESSAGE.devDepIn, tag, bytesOf(part), isEnd)
    this.desk.sendPacket(
      packet(request.tag),
      () => packet(((request.tag + 126) % 255) + 1),
      (bytes) => this.#give(ENDPOINT.bulkIn, bytes),
    )
  }

  #give(endpoint: number, bytes: Uint8Array): void {
    if (this.#holder === undefined) return
    this.#inbox[endpoint]!.push(bytes)
    this.#holder.ready(endpoint)
  }

  #notice(first: number, second: number): void {
    if (this.#inbox[ENDPOINT.interruptIn]!.length < MOST_NOTICES)
      this.#give(ENDPOINT.interruptIn, Uint8Array.of(first, second))
  }

  #ofInterface(request: number, value: number): Uint8Array | undefined {
    switch (request) {
      case REQUEST.getCapabilities:
        return capabilities()
      case REQUEST.initiateClear:
        this.#output = []
        this.#request = undefined
        this.#lastTag = 0
        this.#halt(ENDPOINT.bulkOut)
        this.events.onClear()
        return Uint8Array.of(STATUS.success)
      case REQUEST.checkClearStatus:
        return this.#inbox[ENDPOINT.bulkIn]!.length > 0
          ? Uint8Array.of(STATUS.pending, 1)
          : Uint8Array.of(STATUS.success, 0)
      case REQUEST.readStatusByte:
        if (value < STATUS_TAGS.first || value > STATUS_TAGS.last)
          return Uint8Array.of(STATUS.failed, value, 0)
        this.#notice(0x80 | value, this.#statusByte())
        return Uint8Array.of(STATUS.success, value, 0)
      case REQUEST.renControl:
      case REQUEST.goToLocal:
      case REQUEST.localLockout:
      case REQUEST.indicatorPulse:
        return Uint8Array.of(STATUS.success)
      default:
        return undefined
    }
  }

  #ofEndpoint(request: number, tag: number, endpoint: number): Uint8Array | undefined {
    const isIn = endpoint === ENDPOINT.bulkIn
    if (!isIn && endpoint !== ENDPOINT.bulkOut) return undefined
    switch (request) {
      case REQUEST.initiateAbortBulkOut:
        // A transfer is taken whole or not at all, so none is ever in progress.
        return isIn ? undefined : Uint8Array.of(STATUS.failed, tag)
      case REQUEST.initiateAbortBulkIn:
        if (!isIn) return undefined
        if (this.#request?.tag !== tag)
          return Uint8Array.of(this.#request === undefined ? STATUS.failed : STATUS.notInProgress, tag)
        this.#request = undefined
        // The transfer under way ends with a short packet.
        this.#give(ENDPOINT.bulkIn, new Uint8Array(0))
        return Uint8Array.of(STATUS.success, tag)
      case REQUEST.checkAbortBulkOutStatus:
      case REQUEST.checkAbortBulkInStatus: {
        const isPending = isIn && this.#inbox[ENDPOINT.bulkIn]!.length > 0
        return Uint8Array.of(isPending ? STATUS.pending : STATUS.success, isPending ? 1 : 0, 0, 0, 0, 0, 0, 0)
      }
      default:
        return undefined
    }
  }

  #standard(type: number, request: number, value: number, index: number): Uint8Array | undefined {
    if (type === TYPE.standardIn && request === STANDARD.getDescriptor)
      return descriptorOf(value >> 8, value & 0xff, this.serial)
    if (type === TYPE.standardOut && request === STANDARD.setConfiguration && value === 1) {
      this.#reset()
      return new Uint8Array(0)
    }
    if (type === TYPE.standardOutEndpoint && request === STANDARD.clearFeature && value === ENDPOINT_HALT) {
      this.#halted.delete(index)
      return new Uint8Array(0)
    }
    return undefined
  }

  #statusByte(): number {
    const isAvailable = this.#output.length > 0
    const status = polledStatus(this.events, isAvailable, this.#wantsService)
    this.#wantsService = false
    return isAvailable ? status | MAV : status
  }

  #halt(endpoint: number): void {
    this.#halted.add(endpoint)
    this.#holder?.ready(endpoint)
  }

  #reset(): void {
    this.#halted.clear()
    this.#output = []
    this.#inbox = { [ENDPOINT.bulkIn]: [], [ENDPOINT.interruptIn]: [] }
    this.#request = undefined
    this.#lastTag = 0
  }
}

/** GET_CAPABILITIES: releases of both classes, trigger, remote, 488.2, service request (USBTMC 1.0, 4.2.1.8; USB488 1.0, 4.2.2). */
function capabilities(): Uint8Array {
  const bytes = new Uint8Array(24)
  bytes[0] = STATUS.success
  bytes[3] = 1
  bytes[4] = 4
  bytes[13] = 1
  bytes[14] = CAPABILITY.trigger | CAPABILITY.remote | CAPABILITY.is4882
  bytes[15] = DEVICE_CAPABILITY.serviceRequest
  return bytes
}
