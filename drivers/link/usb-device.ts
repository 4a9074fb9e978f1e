import type { StopSignal } from '../../app/base/clock.ts'
import type { TmcInterface, UsbSetup } from '../../app/buses/usb.ts'
import { usbIds } from '../../app/records/link-words.ts'
import type { WireFault } from './wire.ts'

/** One USB device, held by this program alone: its transfers, whoever carries them. */
export interface UsbDevice {
  readonly tmc: TmcInterface
  /** A control transfer; what the device gave. Rejects with UsbStall where it refuses. */
  control(setup: UsbSetup): Promise<Uint8Array>
  /** A transfer to the device, after those before it. Rejects with UsbStall where the endpoint stands still; false: not taken in time. */
  send(endpoint: number, bytes: Uint8Array, waitMs: number): Promise<boolean>
  /**
   * One transfer from the device: what came until a short packet or `length`. Undefined: nothing came within `waitMs` (not
   * given: as long as the device is held), and the transfer was taken back. Rejects with UsbStall.
   */
  receive(endpoint: number, length: number, waitMs?: number): Promise<Uint8Array | undefined>
  /** Takes back the transfer that waits on an endpoint to the host, if one does. */
  cancel(endpoint: number): Promise<void>
  /** Sets a stalled endpoint going again. */
  clearHalt(endpoint: number): Promise<void>
  /** Gives the device back after what was sent has gone out. */
  close(): void
}

/** The device refuses a transfer. */
export class UsbStall extends Error {}

export interface UsbListener {
  /** The device was unplugged, or who carries its transfers is gone. Called once, not after `close`. */
  closed(fault: WireFault): void
}

/** Which device is meant. */
export interface UsbChoice {
  readonly vendor: number
  readonly product: number
  /** Serial number of the device; absent: there is only one of its kind. */
  readonly serial: string | undefined
}

export type OpenUsb = (choice: UsbChoice, listener: UsbListener, signal: StopSignal) => Promise<UsbDevice>

export const usbName = (choice: UsbChoice): string =>
  `USB device ${usbIds(choice)}${choice.serial === undefined ? '' : ` ${choice.serial}`}`
