import type { Socket } from 'node:net'
import { PacketError } from '../../app/buses/packets.ts'
import { IN } from '../../app/buses/usb.ts'
import {
  type Ask,
  clientCutter,
  IMPORT,
  OPERATION,
  type Submit,
  type Unlink,
  URB,
  type UsbipDevice,
  writeDevice,
  writeList,
  writeOperation,
  writeSubmitted,
  writeUnlinked,
} from '../../app/buses/usbip.ts'
import { TMC_CLASS, TMC_SUBCLASS, USB488_PROTOCOL } from '../../app/buses/usbtmc.ts'
import { BusServer } from './bus-server.ts'
import { ENDPOINT, LAB_PRODUCT, LAB_VENDOR } from './usb-descriptors.ts'
import type { UsbHolder, UsbtmcDevice } from './usbtmc-device.ts'

const NOTHING = new Uint8Array(0)

/** Shares the instruments of the lab as USB devices over TCP: USB/IP. */
export class UsbipServer extends BusServer {
  readonly #devices = new Map<string, { readonly device: UsbtmcDevice; readonly info: UsbipDevice }>()

  add(device: UsbtmcDevice): void {
    const number = this.#devices.size + 1
    const busId = `1-${number}`
    const info = { busId, busNumber: 1, deviceNumber: number, vendor: LAB_VENDOR, product: LAB_PRODUCT }
    this.#devices.set(busId, { device, info })
  }

  protected override welcome(socket: Socket): void {
    let holder: Imported | undefined
    const take = (message: Ask | Submit | Unlink) => {
      if ('command' in message) holder?.hear(message)
      else if (message.code === 'list') {
        const there = [...this.#devices.values()].filter(({ device }) => device.isThere)
        const ofInterface = Uint8Array.of(TMC_CLASS, TMC_SUBCLASS, USB488_PROTOCOL, 0)
        socket.end(
          writeList(
            there.map(({ info }) => info),
            ofInterface,
          ),
        )
      } else holder = this.#import(socket, message.busId)
    }
    const cutter = clientCutter(() => holder !== undefined, take)
    socket.on('data', (bytes) => {
      try {
        cutter.push(bytes)
      } catch (fault) {
        if (!(fault instanceof PacketError)) throw fault
        socket.destroy()
      }
    })
    socket.on('close', () => holder?.end())
  }

  #import(socket: Socket, busId: string): Imported | undefined {
    const shared = this.#devices.get(busId)
    const refuse = (status: number) => {
      socket.end(writeOperation(OPERATION.import, status))
      return undefined
    }
    if (shared === undefined || !shared.device.isThere) return refuse(IMPORT.noDevice)
    const holder = new Imported(socket, shared.device)
    if (!shared.device.take(holder)) return refuse(IMPORT.busy)
    socket.write(writeOperation(OPERATION.import, IMPORT.ok, writeDevice(shared.info)))
    return holder
  }
}

/** One client's hold of a device: its transfers, in the order in which they were asked for on each endpoint. */
class Imported implements UsbHolder {
  readonly #socket: Socket
  readonly #device: UsbtmcDevice
  readonly #waiting: Record<number, Submit[]> = { [ENDPOINT.bulkIn]: [], [ENDPOINT.interruptIn]: [] }

  constructor(socket: Socket, device: UsbtmcDevice) {
    this.#socket = socket
    this.#device = device
  }

  hear(message: Submit | Unlink): void {
    if (message.command === 'unlink') this.#unlink(message)
    else if (message.endpoint === 0) {
      const told = this.#device.control(message.setup)
      this.#end(message.sequence, told === undefined ? URB.stall : URB.ok, told)
    } else if (message.isIn) this.#ask({ ...message, data: NOTHING })
    else {
      const isTaken = message.endpoint === ENDPOINT.bulkOut && this.#device.takeBulk(message.data)
      // Of a transfer to the device only how much of it was taken goes back.
      const length = isTaken ? message.data.length : 0
      this.#write(writeSubmitted(message.sequence, isTaken ? URB.ok : URB.stall, NOTHING, length))
    }
  }

  ready(endpoint: number): void {
    const waiting = this.#waiting[endpoint]
    while (waiting !== undefined && waiting.length > 0) {
      const got = this.#device.fetch(endpoint, waiting[0]!.length)
      if (got === undefined) return
      const { sequence } = waiting.shift()!
      this.#end(sequence, got === 'stall' ? URB.stall : URB.ok, got === 'stall' ? undefined : got)
    }
  }

  drop(): void {
    this.#socket.resetAndDestroy()
  }

  end(): void {
    this.#device.giveBack(this)
  }

  #ask(submit: Submit): void {
    const endpoint = submit.endpoint | IN
    const waiting = this.#waiting[endpoint]
    if (waiting === undefined) {
      this.#end(submit.sequence, URB.stall)
      return
    }
    waiting.push(submit)
    this.ready(endpoint)
  }

  #unlink({ sequence, victim }: Unlink): void {
    let status: number = URB.ok
    for (const waiting of Object.values(this.#waiting)) {
      const at = waiting.findIndex((each) => each.sequence === victim)
      if (at < 0) continue
      waiting.splice(at, 1)
      status = URB.unlinked
    }
    this.#write(writeUnlinked(sequence, status))
  }

  #end(sequence: number, status: number, data: Uint8Array = NOTHING): void {
    this.#write(writeSubmitted(sequence, status, data))
  }

  #write(bytes: Uint8Array): void {
    if (!this.#socket.destroyed) this.#socket.write(bytes)
  }
}
