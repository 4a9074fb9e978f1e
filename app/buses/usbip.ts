import { PacketCutter, PacketError } from './packets.ts'
import type { UsbSetup } from './usb.ts'

/**
 * USB/IP, protocol version 1.1.1: transfers of a USB device over TCP, as the Linux kernel's documentation
 * (Documentation/usb/usbip_protocol) lays them out; sizes and codes from memory.
 */
export const USBIP_PORT = 3240
const VERSION = 0x0111
export const OPERATION = { askList: 0x8005, list: 0x0005, askImport: 0x8003, import: 0x0003 } as const
export const COMMAND = { submit: 1, unlink: 2, submitted: 3, unlinked: 4 } as const
/** Status of an import. */
export const IMPORT = { ok: 0, notAvailable: 1, busy: 2, noDevice: 4 } as const
/** Negative error numbers of Linux, as a transfer ends with them. */
export const URB = { ok: 0, stall: -32, gone: -108, unlinked: -104 } as const

const BUS_ID_BYTES = 32
const PATH_BYTES = 256
const DEVICE_BYTES = 312
const HEADER_BYTES = 48
/** Largest transfer taken. */
const LARGEST = 2 ** 21

export interface UsbipDevice {
  readonly busId: string
  readonly busNumber: number
  readonly deviceNumber: number
  readonly vendor: number
  readonly product: number
}

/** A question or answer before a device is imported: version, code, status. */
export function writeOperation(code: number, status = 0, body: Uint8Array = new Uint8Array(0)): Uint8Array {
  const bytes = new Uint8Array(8 + body.length)
  const view = new DataView(bytes.buffer)
  view.setUint16(0, VERSION)
  view.setUint16(2, code)
  view.setUint32(4, status)
  bytes.set(body, 8)
  return bytes
}

export function writeBusId(busId: string): Uint8Array {
  const bytes = new Uint8Array(BUS_ID_BYTES)
  writeText(bytes, 0, busId)
  return bytes
}

/** The description of one device, without its interfaces. */
export function writeDevice(device: UsbipDevice): Uint8Array {
  const bytes = new Uint8Array(DEVICE_BYTES)
  const view = new DataView(bytes.buffer)
  writeText(bytes, 0, `/sys/devices/usb${device.busNumber}/${device.busId}`)
  writeText(bytes, PATH_BYTES, device.busId)
  view.setUint32(288, device.busNumber)
  view.setUint32(292, device.deviceNumber)
  // High speed, as in the kernel's list of speeds.
  view.setUint32(296, 3)
  view.setUint16(300, device.vendor)
  view.setUint16(302, device.product)
  view.setUint16(304, 0x0100)
  // Class of the device is that of its interface; configuration 1 of 1, one interface.
  bytes.set([0, 0, 0, 1, 1, 1], 306)
  return bytes
}

function readDevice(bytes: Uint8Array): UsbipDevice {
  const view = new DataView(bytes.buffer, bytes.byteOffset, DEVICE_BYTES)
  return {
    busId: readText(bytes, PATH_BYTES, BUS_ID_BYTES),
    busNumber: view.getUint32(288),
    deviceNumber: view.getUint32(292),
    vendor: view.getUint16(300),
    product: view.getUint16(302),
  }
}

function writeText(into: Uint8Array, at: number, text: string): void {
  for (let i = 0; i < text.length; i++) into[at + i] = text.charCodeAt(i)
}

function readText(bytes: Uint8Array, at: number, most: number): string {
  let text = ''
  for (let i = 0; i < most && bytes[at + i] !== 0; i++) text += String.fromCharCode(bytes[at + i]!)
  return text
}

/** What a client asks for before it imports. */
export type Ask = { readonly code: 'list' } | { readonly code: 'import'; readonly busId: string }
/** What it is answered. */
export type Told =
  | { readonly code: 'list'; readonly devices: readonly UsbipDevice[] }
  | { readonly code: 'import'; readonly status: number; readonly device: UsbipDevice | undefined }

/** A transfer that is asked for, or taken back. */
export interface Submit {
  readonly command: 'submit'
  readonly sequence: number
  /** Endpoint number without its direction. */
  readonly endpoint: number
  readonly isIn: boolean
  readonly length: number
  readonly setup: UsbSetup
  readonly data: Uint8Array
}
export interface Unlink {
  readonly command: 'unlink'
  readonly sequence: number
  readonly victim: number
}
/** How a transfer ended. */
export interface Ended {
  readonly command: 'submitted' | 'unlinked'
  readonly sequence: number
  readonly status: number
  readonly data: Uint8Array
}

export function writeSubmit(device: number, submit: Omit<Submit, 'command'>): Uint8Array {
  const bytes = new Uint8Array(HEADER_BYTES + submit.data.length)
  const view = headerOf(bytes, COMMAND.submit, submit.sequence)
  view.setUint32(8, device)
  view.setUint32(12, submit.isIn ? 1 : 0)
  view.setUint32(16, submit.endpoint)
  view.setUint32(24, submit.length)
  view.setInt32(32, -1)
  const { type, request, value, index, length } = submit.setup
  bytes[40] = type
  bytes[41] = request
  view.setUint16(42, value, true)
  view.setUint16(44, index, true)
  view.setUint16(46, length, true)
  bytes.set(submit.data, HEADER_BYTES)
  return bytes
}

export function writeUnlink(device: number, sequence: number, victim: number): Uint8Array {
  const bytes = new Uint8Array(HEADER_BYTES)
  const view = headerOf(bytes, COMMAND.unlink, sequence)
  view.setUint32(8, device)
  view.setUint32(20, victim)
  return bytes
}

/** `length`: bytes taken of a transfer to the device; of one to the host, its data say it. */
export function writeSubmitted(
  sequence: number,
  status: number,
  data: Uint8Array,
  length = data.length,
): Uint8Array {
  const bytes = new Uint8Array(HEADER_BYTES + data.length)
  const view = headerOf(bytes, COMMAND.submitted, sequence)
  view.setInt32(20, status)
  view.setUint32(24, length)
  view.setInt32(32, -1)
  bytes.set(data, HEADER_BYTES)
  return bytes
}

export function writeUnlinked(sequence: number, status: number): Uint8Array {
  const bytes = new Uint8Array(HEADER_BYTES)
  headerOf(bytes, COMMAND.unlinked, sequence).setInt32(20, status)
  return bytes
}

function headerOf(bytes: Uint8Array, command: number, sequence: number): DataView {
  const view = new DataView(bytes.buffer)
  view.setUint32(0, command)
  view.setUint32(4, sequence)
  return view
}

const NO_SETUP: UsbSetup = { type: 0, request: 0, value: 0, index: 0, length: 0 }

/** Cuts what a client sends: operations first, transfers once `isImported` says so. */
export function clientCutter(
  isImported: () => boolean,
  take: (message: Ask | Submit | Unlink) => void,
): PacketCutter {
  const lengthOf = (view: DataView, at: number, left: number): number => {
    if (!isImported()) {
      if (left < 8) return 0
      if (view.getUint16(at) !== VERSION) throw new PacketError('another version of USB/IP')
      return view.getUint16(at + 2) === OPERATION.askImport ? 8 + BUS_ID_BYTES : 8
    }
    if (left < HEADER_BYTES) return 0
    const length = view.getUint32(at + 24)
    if (length > LARGEST) throw new PacketError('a transfer that is too long')
    const carries = view.getUint32(at) === COMMAND.submit && view.getUint32(at + 12) === 0
    return HEADER_BYTES + (carries ? length : 0)
  }
  return new PacketCutter({ headBytes: 8, lengthOf }, (packet) => {
    const view = new DataView(packet.buffer, packet.byteOffset, packet.length)
    if (!isImported()) {
      const code = view.getUint16(2)
      if (code === OPERATION.askList) take({ code: 'list' })
      else if (code === OPERATION.askImport)
        take({ code: 'import', busId: readText(packet, 8, BUS_ID_BYTES) })
      else throw new PacketError('an operation that is not known')
      return
    }
    const sequence = view.getUint32(4)
    const command = view.getUint32(0)
    if (command === COMMAND.unlink) take({ command: 'unlink', sequence, victim: view.getUint32(20) })
    else if (command === COMMAND.submit) {
      const endpoint = view.getUint32(16)
      take({
        command: 'submit',
        sequence,
        endpoint,
        isIn: view.getUint32(12) === 1,
        length: view.getUint32(24),
        setup: endpoint === 0 ? readSetup(view) : NO_SETUP,
        data: packet.subarray(HEADER_BYTES),
      })
    } else throw new PacketError('a command that is not known')
  })
}

function readSetup(view: DataView): UsbSetup {
  return {
    type: view.getUint8(40),
    request: view.getUint8(41),
    value: view.getUint16(42, true),
    index: view.getUint16(44, true),
    length: view.getUint16(46, true),
  }
}

/** Cuts what a server sends. `isIn` tells whether the transfer of a number was one to the host, which carries data. */
export function serverCutter(
  isImported: () => boolean,
  isIn: (sequence: number) => boolean,
  take: (message: Told | Ended) => void,
): PacketCutter {
  const lengthOf = (view: DataView, at: number, left: number): number => {
    if (!isImported()) {
      if (view.getUint16(at) !== VERSION) throw new PacketError('another version of USB/IP')
      if (view.getUint16(at + 2) === OPERATION.import)
        return view.getUint32(at + 4) === IMPORT.ok ? 8 + DEVICE_BYTES : 8
      return left < 12 ? 0 : listLength(view, at, left)
    }
    if (left < HEADER_BYTES) return 0
    const length = view.getUint32(at + 24)
    if (length > LARGEST) throw new PacketError('a transfer that is too long')
    const carries = view.getUint32(at) === COMMAND.submitted && isIn(view.getUint32(at + 4))
    return HEADER_BYTES + (carries ? length : 0)
  }
  return new PacketCutter({ headBytes: 8, lengthOf }, (packet) => {
    const view = new DataView(packet.buffer, packet.byteOffset, packet.length)
    if (!isImported()) {
      if (view.getUint16(2) === OPERATION.import) {
        const device = packet.length > 8 ? readDevice(packet.subarray(8)) : undefined
        take({ code: 'import', status: view.getUint32(4), device })
      } else take({ code: 'list', devices: readList(packet) })
      return
    }
    const command = view.getUint32(0)
    if (command !== COMMAND.submitted && command !== COMMAND.unlinked)
      throw new PacketError('a command that is not known')
    take({
      command: command === COMMAND.submitted ? 'submitted' : 'unlinked',
      sequence: view.getUint32(4),
      status: view.getInt32(20),
      data: packet.subarray(HEADER_BYTES),
    })
  })
}

/** Each device of a list is followed by four bytes for each of its interfaces. */
function listLength(view: DataView, at: number, left: number): number {
  let length = 12
  for (let devices = view.getUint32(at + 8); devices > 0; devices--) {
    if (left < length + DEVICE_BYTES) return 0
    length += DEVICE_BYTES + 4 * view.getUint8(at + length + DEVICE_BYTES - 1)
    if (length > LARGEST) throw new PacketError('a list that is too long')
  }
  return length
}

export function writeList(devices: readonly UsbipDevice[], interfaceOf: Uint8Array): Uint8Array {
  const bytes = new Uint8Array(4 + devices.length * (DEVICE_BYTES + 4))
  new DataView(bytes.buffer).setUint32(0, devices.length)
  devices.forEach((device, i) => {
    bytes.set(writeDevice(device), 4 + i * (DEVICE_BYTES + 4))
    bytes.set(interfaceOf, 4 + i * (DEVICE_BYTES + 4) + DEVICE_BYTES)
  })
  return writeOperation(OPERATION.list, 0, bytes)
}

function readList(packet: Uint8Array): UsbipDevice[] {
  const devices: UsbipDevice[] = []
  for (let at = 12; at + DEVICE_BYTES <= packet.length; ) {
    devices.push(readDevice(packet.subarray(at, at + DEVICE_BYTES)))
    at += DEVICE_BYTES + 4 * packet[at + DEVICE_BYTES - 1]!
  }
  return devices
}
