import type { Clock, Disposable, StopSignal } from '../../app/base/clock.ts'
import type { PacketCutter } from '../../app/buses/packets.ts'
import {
  askDescriptor,
  DESCRIPTOR,
  ENDPOINT_HALT,
  findTmc,
  IN,
  readString,
  STANDARD,
  type TmcInterface,
  TYPE,
  type UsbSetup,
} from '../../app/buses/usb.ts'
import {
  type Ended,
  IMPORT,
  OPERATION,
  serverCutter,
  type Told,
  URB,
  type UsbipDevice,
  writeBusId,
  writeOperation,
  writeSubmit,
  writeUnlink,
} from '../../app/buses/usbip.ts'
import { said } from '../../app/messages/said.ts'
import { openTcp, type TcpSocket } from './tcp.ts'
import {
  type OpenUsb,
  type UsbChoice,
  type UsbDevice,
  type UsbListener,
  UsbStall,
  usbName,
} from './usb-device.ts'
import { WireFault } from './wire.ts'

export interface UsbipAddress {
  readonly host: string
  readonly port: number
  readonly connectMs: number
}

const NOTHING = new Uint8Array(0)
const NO_SETUP: UsbSetup = { type: 0, request: 0, value: 0, index: 0, length: 0 }
const CONTROL_MS = 5000
/** Largest descriptor of a configuration that is read. */
const CONFIGURATION_BYTES = 1024

/** Opens devices of a computer that shares its own over USB/IP. */
export function usbipOpener(address: UsbipAddress, clock: Clock): OpenUsb {
  return async (choice, listener, signal) => {
    const alike = (await listDevices(address, clock, signal)).filter(
      ({ vendor, product }) => vendor === choice.vendor && product === choice.product,
    )
    const where = `${address.host}:${address.port}`
    if (alike.length > 1 && choice.serial === undefined) {
      throw new WireFault('refused', said('usbip-several', { where, count: alike.length }))
    }
    let fault: WireFault | undefined
    for (const { busId } of alike) {
      const line = new UsbipLine(address, clock, listener, choice)
      try {
        if (await line.open(busId, signal)) return line
        line.close()
      } catch (error) {
        line.close()
        if (!(error instanceof WireFault)) throw error
        fault = error
      }
    }
    throw fault ?? new WireFault('lost', said('usb-not-shared', { choice: usbName(choice), where }))
  }
}

/** The devices that a computer shares. */
async function listDevices(
  address: UsbipAddress,
  clock: Clock,
  signal: StopSignal,
): Promise<readonly UsbipDevice[]> {
  let done: (devices: readonly UsbipDevice[] | undefined) => void = () => {}
  const listed = new Promise<readonly UsbipDevice[] | undefined>((resolve) => {
    done = resolve
  })
  const cutter = serverCutter(
    () => false,
    () => false,
    (message) => {
      if ('code' in message && message.code === 'list') done(message.devices)
    },
  )
  const data = (chunk: Uint8Array) => pushOr(cutter, chunk, () => done(undefined))
  const socket = await openTcp(address, clock, { data, closed: () => done(undefined) }, signal)
  const deadline = clock.after(address.connectMs, () => done(undefined))
  socket.write(writeOperation(OPERATION.askList))
  const devices = await listed
  deadline.dispose()
  socket.destroy()
  if (devices === undefined)
    throw new WireFault('lost', said('no-usbip', { host: address.host, port: address.port }))
  return devices
}

function pushOr(cutter: PacketCutter, chunk: Uint8Array, broken: (words: string) => void): void {
  try {
    cutter.push(chunk)
  } catch (fault) {
    broken((fault as Error).message)
  }
}

/** A timer that some clocks can start anew more cheaply than make another. */
interface Rearmable extends Disposable {
  readonly refresh?: () => void
}

/** Transfers of one direction that have to end within the same time. */
interface Deadline {
  timer: Rearmable | undefined
  ms: number
  readonly of: Set<number>
}

interface Underway {
  readonly endpoint: number
  readonly isIn: boolean
  readonly done: (ended: Pick<Ended, 'status' | 'data'>) => void
}

/** One imported device: its transfers as numbered commands over one connection. */
class UsbipLine implements UsbDevice {
  readonly #address: UsbipAddress
  readonly #clock: Clock
  readonly #listener: UsbListener
  readonly #choice: UsbChoice
  readonly #underway = new Map<number, Underway>()
  readonly #deadlines: Record<'in' | 'out', Deadline> = {
    in: { timer: undefined, ms: 0, of: new Set() },
    out: { timer: undefined, ms: 0, of: new Set() },
  }
  #socket: TcpSocket | undefined
  #device = 0
  #sequence = 0
  #imported = false
  #onImport: ((told: Extract<Told, { code: 'import' }> | undefined) => void) | undefined
  #tmc: TmcInterface | undefined
  #over = false
  #ready = false

  constructor(address: UsbipAddress, clock: Clock, listener: UsbListener, choice: UsbChoice) {
    this.#address = address
    this.#clock = clock
    this.#listener = listener
    this.#choice = choice
  }

  get tmc(): TmcInterface {
    return this.#tmc!
  }

  /** Imports one device; false where it is another one of the same kind. */
  async open(busId: string, signal: StopSignal): Promise<boolean> {
    const cutter = serverCutter(
      () => this.#imported,
      (sequence) => this.#underway.get(sequence)?.isIn === true,
      (message) => this.#hear(message),
    )
    this.#socket = await openTcp(
      this.#address,
      this.#clock,
      {
        data: (chunk) =>
          pushOr(cutter, chunk, (words) =>
            this.#finish(new WireFault('lost', said('not-usbip', { host: this.#address.host, words }))),
          ),
        closed: (fault) => this.#finish(fault),
      },
      signal,
    )
    const told = await new Promise<Extract<Told, { code: 'import' }> | undefined>((resolve) => {
      const deadline = this.#clock.after(this.#address.connectMs, () => this.#onImport?.(undefined))
      this.#onImport = (answer) => {
        this.#onImport = undefined
        deadline.dispose()
        resolve(answer)
      }
      this.#socket!.write(writeOperation(OPERATION.askImport, 0, writeBusId(busId)))
    })
    const name = usbName(this.#choice)
    if (told?.status === IMPORT.busy) throw new WireFault('refused', said('usbip-held', { name }))
    if (told?.device === undefined)
      throw new WireFault('lost', said('usbip-not-given-out', { name, host: this.#address.host }))
    const { busNumber, deviceNumber } = told.device
    this.#device = (busNumber << 16) | deviceNumber
    const description = await this.#describe(name)
    if (this.#choice.serial !== undefined && (await this.#serial()) !== this.#choice.serial) return false
    this.#tmc = description
    await this.control({
      type: TYPE.standardOut,
      request: STANDARD.setConfiguration,
      value: description.configuration,
      index: 0,
      length: 0,
    })
    if (this.#over) throw new WireFault('lost', said('port-gone', { path: name }))
    this.#ready = true
    return true
  }

  async #describe(name: string): Promise<TmcInterface> {
    const bytes = await this.control(askDescriptor(DESCRIPTOR.configuration, 0, CONFIGURATION_BYTES))
    const tmc = findTmc(bytes)
    if (tmc === undefined) throw new WireFault('refused', said('usb-no-instrument', { choice: name }))
    return tmc
  }

  async #serial(): Promise<string> {
    const device = await this.control(askDescriptor(DESCRIPTOR.device, 0, 18))
    const index = device[16] ?? 0
    return index === 0 ? '' : readString(await this.control(askDescriptor(DESCRIPTOR.string, index, 255)))
  }

  async control(setup: UsbSetup): Promise<Uint8Array> {
    const isIn = (setup.type & IN) !== 0
    const ended = await this.#submit(
      { endpoint: 0, isIn, length: setup.length, setup, data: NOTHING },
      CONTROL_MS,
    )
    if (ended === undefined)
      throw new WireFault('lost', said('usb-control-silent', { choice: usbName(this.#choice) }))
    return ended
  }

  async send(endpoint: number, bytes: Uint8Array, waitMs: number): Promise<boolean> {
    const transfer = { endpoint, isIn: false, length: bytes.length, setup: NO_SETUP, data: bytes }
    return (await this.#submit(transfer, waitMs)) !== undefined
  }

  receive(endpoint: number, length: number, waitMs?: number): Promise<Uint8Array | undefined> {
    const number = endpoint & ~IN
    return this.#submit({ endpoint: number, isIn: true, length, setup: NO_SETUP, data: NOTHING }, waitMs)
  }

  async clearHalt(endpoint: number): Promise<void> {
    await this.control({
      type: TYPE.standardOutEndpoint,
      request: STANDARD.clearFeature,
      value: ENDPOINT_HALT,
      index: endpoint,
      length: 0,
    })
  }

  close(): void {
    if (this.#over) return
    this.#over = true
    this.#socket?.finish()
    this.#endAll()
  }

  /** One transfer; undefined where it was taken back because nothing had happened within the time. */
  #submit(
    transfer: { endpoint: number; isIn: boolean; length: number; setup: UsbSetup; data: Uint8Array },
    waitMs: number | undefined,
  ): Promise<Uint8Array | undefined> {
    if (this.#over)
      return Promise.reject(new WireFault('lost', said('port-gone', { path: usbName(this.#choice) })))
    this.#sequence = (this.#sequence + 1) >>> 0
    const sequence = this.#sequence
    return new Promise((resolve, reject) => {
      const { endpoint, isIn } = transfer
      const deadline = this.#deadlines[isIn ? 'in' : 'out']
      this.#underway.set(sequence, {
        endpoint,
        isIn,
        done: ({ status, data }) => {
          deadline.of.delete(sequence)
          // One that can be started anew is left for the next transfer; it finds nobody when it fires.
          if (deadline.of.size === 0 && deadline.timer?.refresh === undefined) {
            deadline.timer?.dispose()
            deadline.timer = undefined
          }
          this.#underway.delete(sequence)
          if (status === URB.ok) resolve(data.length === 0 ? NOTHING : data.slice())
          else if (status === URB.unlinked) resolve(undefined)
          else if (status === URB.stall) reject(new UsbStall('the device refuses a transfer'))
          else
            reject(
              new WireFault(
                'lost',
                said('usb-gone-with-error', { choice: usbName(this.#choice), status: -status }),
              ),
            )
        },
      })
      this.#socket!.write(writeSubmit(this.#device, { sequence, ...transfer }))
      if (waitMs !== undefined) this.#arm(deadline, sequence, waitMs)
    })
  }

  #arm(deadline: Deadline, sequence: number, waitMs: number): void {
    deadline.of.add(sequence)
    if (deadline.timer?.refresh !== undefined && deadline.ms === waitMs) {
      deadline.timer.refresh()
      return
    }
    deadline.timer?.dispose()
    deadline.ms = waitMs
    deadline.timer = this.#clock.after(waitMs, () => {
      deadline.timer = undefined
      for (const late of deadline.of) this.#takeBack(late)
    })
  }

  async cancel(endpoint: number): Promise<void> {
    for (const [sequence, { endpoint: number, isIn, done }] of [...this.#underway]) {
      if (!isIn || number !== (endpoint & ~IN)) continue
      await new Promise<void>((resolve) => {
        this.#underway.set(sequence, {
          endpoint: number,
          isIn,
          done: (ended) => {
            done(ended)
            resolve()
          },
        })
        this.#takeBack(sequence)
      })
    }
  }

  #takeBack(victim: number): void {
    this.#sequence = (this.#sequence + 1) >>> 0
    const sequence = this.#sequence
    // Taken back in time, the transfer has no answer of its own; too late, it has been answered before.
    this.#underway.set(sequence, {
      endpoint: 0,
      isIn: false,
      done: () => {
        this.#underway.delete(sequence)
        this.#underway.get(victim)?.done({ status: URB.unlinked, data: NOTHING })
      },
    })
    this.#socket?.write(writeUnlink(this.#device, sequence, victim))
  }

  #hear(message: Told | Ended): void {
    if ('command' in message) this.#underway.get(message.sequence)?.done(message)
    else if (message.code === 'import') {
      this.#imported = message.status === IMPORT.ok
      this.#onImport?.(message)
    }
  }

  #finish(fault: WireFault): void {
    if (this.#over) return
    this.#over = true
    this.#socket?.destroy()
    this.#onImport?.(undefined)
    this.#endAll()
    if (this.#ready) this.#listener.closed(fault)
  }

  #endAll(): void {
    for (const { timer } of Object.values(this.#deadlines)) timer?.dispose()
    for (const { done } of [...this.#underway.values()]) done({ status: URB.gone, data: NOTHING })
  }
}
