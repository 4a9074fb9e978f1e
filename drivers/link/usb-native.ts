import type { usb as Usb } from 'usb'
import type { Clock } from '../../app/base/clock.ts'
import { IN, type TmcInterface, TYPE, type UsbSetup } from '../../app/buses/usb.ts'
import { TMC_CLASS, TMC_SUBCLASS } from '../../app/buses/usbtmc.ts'
import { said } from '../../app/messages/said.ts'
import {
  type OpenUsb,
  type UsbChoice,
  type UsbDevice,
  type UsbListener,
  UsbStall,
  usbName,
} from './usb-device.ts'
import { WireFault } from './wire.ts'

type Device = Awaited<ReturnType<typeof Usb.getDevices>>[number]

/** As the package describes an endpoint, after the browsers' interface of the same name. */
interface Endpoint {
  readonly endpointNumber: number
  readonly direction: string
  readonly type: string
  readonly packetSize: number
}

const CONTROL_MS = 5000
/** A transfer that is awaited for ever is begun anew so often: a device that was given back is let go of by then. */
const TURN_MS = 1000

/** Opens devices on this computer's own USB, through the system. */
export function nativeUsb(clock: Clock): OpenUsb {
  return async (choice, listener) => {
    const alike = (await devices()).filter(
      ({ vendorId, productId }) => vendorId === choice.vendor && productId === choice.product,
    )
    const meant = alike.filter(
      ({ serialNumber }) => choice.serial === undefined || serialNumber === choice.serial,
    )
    if (meant.length > 1) {
      throw new WireFault('refused', said('usb-several', { count: meant.length }))
    }
    const [device] = meant
    if (device === undefined)
      throw new WireFault('no-such-port', said('usb-not-there', { choice: usbName(choice) }))
    try {
      return await hold(device, choice, listener, clock)
    } catch (fault) {
      await device.close().catch(() => undefined)
      throw fault instanceof WireFault ? fault : explain(fault, choice)
    }
  }
}

/** The USB devices of this computer that are instruments, by the class of an interface. Nothing is sent to them. */
export async function listUsbInstruments(): Promise<(UsbChoice & { readonly name: string })[]> {
  const all = await devices().catch(() => [])
  return all.flatMap((device) => {
    const { vendorId, productId, serialNumber, manufacturerName, productName } = device
    const configurations: readonly Configuration[] = device.configurations
    if (!configurations.some(isInstrument)) return []
    const name = [manufacturerName, productName].filter(Boolean).join(' ')
    return [{ vendor: vendorId, product: productId, serial: serialNumber ?? undefined, name }]
  })
}

/** As the package describes what a device has, after the browsers' interface of the same name. */
interface Configuration {
  readonly interfaces: readonly {
    readonly alternates: readonly { readonly interfaceClass: number; readonly interfaceSubclass: number }[]
  }[]
}

const isInstrument = ({ interfaces }: Configuration): boolean =>
  interfaces.some(({ alternates }) =>
    alternates.some(
      ({ interfaceClass, interfaceSubclass }) =>
        interfaceClass === TMC_CLASS && interfaceSubclass === TMC_SUBCLASS,
    ),
  )

async function devices(): Promise<Device[]> {
  try {
    // Loaded only where a link asks for it: a system without USB runs everything else.
    const { usb } = await import('usb')
    return await usb.getDevices()
  } catch (fault) {
    throw new WireFault(
      'refused',
      said('usb-not-given-out', { message: (fault as Error).message }),
      {},
      fault as Error,
    )
  }
}

async function hold(
  device: Device,
  choice: UsbChoice,
  listener: UsbListener,
  clock: Clock,
): Promise<UsbDevice> {
  await device.open()
  const tmc = interfaceOf(device)
  if (tmc === undefined)
    throw new WireFault('refused', said('usb-no-instrument', { choice: usbName(choice) }))
  // Linux has a driver of its own for these devices, which would hold the interface.
  if (process.platform === 'linux') await device.detachKernelDriver(tmc.number).catch(() => undefined)
  await device.claimInterface(tmc.number)
  return new NativeDevice(device, tmc, choice, listener, clock)
}

function interfaceOf({ configuration }: Device): TmcInterface | undefined {
  for (const { interfaceNumber, alternate } of configuration.interfaces) {
    if (alternate.interfaceClass !== TMC_CLASS || alternate.interfaceSubclass !== TMC_SUBCLASS) continue
    const endpoints: readonly Endpoint[] = alternate.endpoints
    const find = (type: string, direction: string) =>
      endpoints.find((each) => each.type === type && each.direction === direction)
    const [bulkOut, bulkIn, interruptIn] = [find('bulk', 'out'), find('bulk', 'in'), find('interrupt', 'in')]
    if (bulkOut === undefined || bulkIn === undefined) continue
    return {
      configuration: configuration.configurationValue,
      number: interfaceNumber,
      protocol: alternate.interfaceProtocol,
      bulkOut: bulkOut.endpointNumber,
      bulkIn: bulkIn.endpointNumber | IN,
      interruptIn: interruptIn === undefined ? undefined : interruptIn.endpointNumber | IN,
      packetBytes: bulkIn.packetSize,
    }
  }
  return undefined
}

class NativeDevice implements UsbDevice {
  readonly tmc: TmcInterface
  readonly #device: Device
  readonly #choice: UsbChoice
  readonly #listener: UsbListener
  readonly #clock: Clock
  #over = false
  /** Transfers to the device go one after another: an endpoint has one user at a time. */
  #sent: Promise<unknown> = Promise.resolve()
  readonly #waiting = new Map<number, Promise<unknown>>()
  readonly #cancelled = new Set<number>()

  constructor(device: Device, tmc: TmcInterface, choice: UsbChoice, listener: UsbListener, clock: Clock) {
    this.#device = device
    this.tmc = tmc
    this.#choice = choice
    this.#listener = listener
    this.#clock = clock
  }

  async control({ type, request, value, index, length }: UsbSetup): Promise<Uint8Array> {
    const recipient = type === TYPE.classInEndpoint ? 'endpoint' : 'interface'
    const setup = { requestType: 'class', recipient, request, value, index } as const
    const told = await this.#try(() => this.#device.nativeControlTransferIn(setup, CONTROL_MS, length))
    if (told === undefined)
      throw new WireFault('lost', said('usb-control-silent', { choice: usbName(this.#choice) }))
    return told
  }

  send(endpoint: number, bytes: Uint8Array, waitMs: number): Promise<boolean> {
    const sending = this.#sent.then(() =>
      this.#try(() => this.#device.nativeTransferOut(endpoint, whole(waitMs), bytes)),
    )
    this.#sent = sending.catch(() => undefined)
    return sending.then((count) => count === bytes.length)
  }

  receive(endpoint: number, length: number, waitMs?: number): Promise<Uint8Array | undefined> {
    const receiving = this.#receive(endpoint, length, waitMs)
    this.#waiting.set(
      endpoint,
      receiving.catch(() => undefined),
    )
    return receiving
  }

  async cancel(endpoint: number): Promise<void> {
    this.#cancelled.add(endpoint)
    await this.#waiting.get(endpoint)
    this.#cancelled.delete(endpoint)
  }

  async #receive(endpoint: number, length: number, waitMs?: number): Promise<Uint8Array | undefined> {
    const untilUs = this.#clock.now().monoUs + (waitMs ?? Number.POSITIVE_INFINITY) * 1000
    while (!this.#over) {
      const leftMs = (untilUs - this.#clock.now().monoUs) / 1000
      if (leftMs <= 0 || this.#cancelled.has(endpoint)) return undefined
      const turnMs = whole(Math.min(leftMs, TURN_MS))
      const got = await this.#try(() => this.#device.nativeTransferIn(endpoint & ~IN, turnMs, length))
      if (got !== undefined) return got
    }
    throw new WireFault('lost', said('usb-given-back', { choice: usbName(this.#choice) }))
  }

  async clearHalt(endpoint: number): Promise<void> {
    await this.#try(async () => {
      await this.#device.clearHalt((endpoint & IN) === 0 ? 'out' : 'in', endpoint & ~IN)
      return true
    })
  }

  close(): void {
    if (this.#over) return
    this.#over = true
    // Whatever is still under way ends with an error that concerns nobody.
    const given = this.#device.releaseInterface(this.tmc.number).then(() => this.#device.close())
    given.catch(() => undefined)
  }

  /** A transfer; undefined where it was taken back for want of time. */
  async #try<T>(transfer: () => Promise<T | null>): Promise<T | undefined> {
    if (this.#over) throw new WireFault('lost', said('usb-given-back', { choice: usbName(this.#choice) }))
    try {
      return (await transfer()) ?? undefined
    } catch (fault) {
      const words = String(fault)
      if (/cancel/i.test(words)) return undefined
      if (/stall/i.test(words)) throw new UsbStall('the device refuses a transfer')
      const lost = explain(fault, this.#choice)
      if (!this.#over) {
        this.#over = true
        this.#device.close().catch(() => undefined)
        this.#listener.closed(lost)
      }
      throw lost
    }
  }
}

const whole = (ms: number): number => Math.max(1, Math.ceil(ms))

function explain(fault: unknown, choice: UsbChoice): WireFault {
  const words = fault instanceof Error ? fault.message : String(fault)
  const name = usbName(choice)
  const cause = fault instanceof Error ? fault : undefined
  if (/permission|access|EACCES/i.test(words)) {
    const how =
      process.platform === 'linux'
        ? 'On Linux a udev rule for these two numbers gives the device to a group of which you are a member.'
        : 'Close other programs that use it.'
    return new WireFault('permission', said('usb-not-permitted', { name, how }), {}, cause)
  }
  if (/busy|in use|EBUSY/i.test(words)) {
    const end = 'End it there; this station then takes it.'
    return new WireFault('refused', said('usb-held', { name, end }), {}, cause)
  }
  if (/not.?supported/i.test(words)) {
    const why =
      'On Windows the device needs the driver WinUSB; with the one of a VISA library installed, reach it through that library.'
    return new WireFault('refused', said('usb-not-opened', { name, words, why }), {}, cause)
  }
  return new WireFault('lost', said('usb-trouble', { name, words }), {}, cause)
}
