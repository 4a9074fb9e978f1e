import type { Clock } from '../../app/base/clock.ts'
import { PORTMAP } from '../../app/buses/portmap.ts'
import type { LinkSpec } from '../../app/records/bench.ts'
import type { FaultDesk } from '../faults/desk.ts'
import { InstrumentPort, type LabPort, type PortEvents } from '../instruments/port.ts'
import type { InstrumentDesign, InstrumentKind } from '../scenarios/scenario.ts'
import { HislipDevice } from './hislip-device.ts'
import { HislipServer } from './hislip-server.ts'
import { ModbusPort } from './modbus-port.ts'
import { LAB_PRODUCT, LAB_VENDOR } from './usb-descriptors.ts'
import { UsbipServer } from './usbip-server.ts'
import { UsbtmcDevice } from './usbtmc-device.ts'
import { Vxi11Device } from './vxi11-device.ts'
import { Vxi11Server } from './vxi11-server.ts'

export const LAB_BUSES = [
  'tcp',
  'serial',
  'hislip',
  'vxi-11',
  'usbtmc',
  'modbus',
  'modbus-rtu',
  'mixed',
] as const
export type LabBus = (typeof LAB_BUSES)[number]

export interface BusPorts {
  /** TCP port of HiSLIP; 0 for any free one. */
  readonly hislip?: number
  /** Port of the port mapper of VXI-11; 0 for any free one. */
  readonly portmapper?: number
  /** TCP port on which USB devices are shared; 0 for any free one. */
  readonly usbip?: number
}

/** Those that speak in messages of IEEE 488.2; the others talk by themselves, echo or prompt, and stay on a line of their own. */
const IN_MESSAGES: readonly InstrumentKind[] = ['rb-8', 'cs-16', 'tb-2', 'fc-1', 'dm-7']

/** Those that are also built with registers in place of a language. */
const WITH_REGISTERS: Partial<Record<InstrumentKind, 'tb-2m' | 'es-2'>> = {
  'tb-2': 'tb-2m',
  'tb-1': 'tb-2m',
  'es-1': 'es-2',
}

/** What each instrument is reached by in a laboratory that has something of everything. */
const MIXED: Partial<Record<InstrumentKind, LabBus>> = {
  'rb-8': 'hislip',
  'cs-16': 'vxi-11',
  'dm-7': 'usbtmc',
  'tb-2': 'modbus',
  'tb-1': 'modbus',
  'fc-1': 'hislip',
}

/** The bus of one kind of instrument, where the lab has several. */
export function busFor(kind: InstrumentKind, bus: LabBus): LabBus {
  return bus === 'mixed' ? (MIXED[kind] ?? 'tcp') : bus
}

/** The instrument as it is built for its bus. */
export function builtFor(design: InstrumentDesign, bus: LabBus): InstrumentDesign {
  const kind = bus === 'modbus' || bus === 'modbus-rtu' ? WITH_REGISTERS[design.kind] : undefined
  // Only what has the same fields as its sister with registers is listed there.
  return kind === undefined ? design : ({ ...design, kind } as InstrumentDesign)
}

/** The buses of one lab: where each instrument answers, and the servers that they share. */
export class LabBuses {
  readonly #host: string
  readonly #clock: Clock
  readonly #ports: BusPorts
  readonly #links = new Map<string, () => LinkSpec>()
  #hislip: { server: HislipServer; devices: number } | undefined
  #usbip: UsbipServer | undefined
  #vxi11: { server: Vxi11Server; devices: number } | undefined

  constructor(host: string, clock: Clock, ports: BusPorts) {
    this.#host = host
    this.#clock = clock
    this.#ports = ports
  }

  /** Makes the port of one instrument on the bus that is asked for, where its language has a place on it. */
  portOf(
    { id, kind, serial }: InstrumentDesign,
    bus: LabBus,
    tcpPort: number,
    desk: FaultDesk,
  ): (events: PortEvents) => LabPort {
    return (events) => {
      const suits = IN_MESSAGES.includes(kind)
      if (bus === 'hislip' && suits) return this.#onHislip(id, desk, events)
      if (bus === 'usbtmc' && suits) return this.#onUsb(id, serial, desk, events)
      if (bus === 'vxi-11' && suits) return this.#onVxi11(id, desk, events)
      if (kind === 'tb-2m' || kind === 'es-2') {
        const at = { host: this.#host, port: tcpPort, clock: this.#clock, desk }
        const port = new ModbusPort(bus === 'modbus-rtu' ? 'rtu' : 'tcp', at, events)
        this.#links.set(id, () => ({ kind: 'modbus-tcp', host: this.#host, port: port.number, unit: 1 }))
        return port
      }
      const port = new InstrumentPort(this.#host, tcpPort, events)
      this.#links.set(id, () => ({ kind: 'tcp', host: this.#host, port: port.number }))
      return port
    }
  }

  /** Opens the servers that instruments share; their own ports are opened one by one. */
  async open(): Promise<void> {
    await this.#hislip?.server.open(this.#ports.hislip ?? 0)
    await this.#usbip?.open(this.#ports.usbip ?? 0)
    await this.#vxi11?.server.open({ core: 0, portmapper: this.#ports.portmapper ?? 0 })
  }

  async close(): Promise<void> {
    await this.#vxi11?.server.close()
    await this.#usbip?.close()
    await this.#hislip?.server.close()
  }

  /** How an instrument is reached, once everything is open. */
  linkOf(id: string): LinkSpec {
    const link = this.#links.get(id)
    if (!link) throw new Error(`the lab has no ${id}`)
    return link()
  }

  #onHislip(id: string, desk: FaultDesk, events: PortEvents): LabPort {
    this.#hislip ??= { server: new HislipServer(this.#host), devices: 0 }
    const { server } = this.#hislip
    const device = new HislipDevice(`hislip${this.#hislip.devices++}`, this.#clock, desk, events)
    server.add(device)
    this.#links.set(id, () => ({ kind: 'hislip', host: this.#host, port: server.port, device: device.name }))
    return device
  }

  #onUsb(id: string, serial: string, desk: FaultDesk, events: PortEvents): LabPort {
    this.#usbip ??= new UsbipServer(this.#host)
    const server = this.#usbip
    const device = new UsbtmcDevice(serial, desk, events)
    server.add(device)
    const ids = { vendor: LAB_VENDOR, product: LAB_PRODUCT, serial }
    this.#links.set(id, () => ({ kind: 'usbtmc', ...ids, sharedBy: { host: this.#host, port: server.port } }))
    return device
  }

  #onVxi11(id: string, desk: FaultDesk, events: PortEvents): LabPort {
    this.#vxi11 ??= { server: new Vxi11Server(this.#host, this.#clock), devices: 0 }
    const { server } = this.#vxi11
    const index = this.#vxi11.devices++
    const name = `inst${index}`
    // The same instrument as a gateway would name it: first interface, primary address from 1.
    const device = new Vxi11Device([name, `gpib0,${index + 1}`], this.#clock, desk, events)
    server.add(device)
    this.#links.set(id, () => ({
      kind: 'vxi-11',
      host: this.#host,
      device: name,
      ...(server.portmapper !== PORTMAP.port && { portmapper: server.portmapper }),
    }))
    return device
  }
}
