import type { Clock } from '../../app/base/clock.ts'
import { type ModbusFrame, rtuCutter, tcpCutter, writeRtu, writeTcp } from '../../app/buses/modbus.ts'
import { bytesOf, PacketError, textOf } from '../../app/buses/packets.ts'
import type { FaultDesk } from '../faults/desk.ts'
import { type FaultKind, PACKET_FAULTS } from '../faults/order.ts'
import { type BusManners, InstrumentPort, type LabPort, type PortEvents } from '../instruments/port.ts'
import type { SerialPair } from '../instruments/serial-pair.ts'

/** A device that is silent in the middle of a frame has not sent one: what comes after this pause begins anew, ms. */
const BROKEN_OFF_MS = 50
const UNIT = 1

/**
 * The port of a device with registers: requests come in as transaction (two bytes) and PDU, and what is written goes out
 * the same way. Frames for other units are not heard.
 */
export class ModbusPort implements LabPort {
  readonly bus: BusManners
  readonly #framing: 'tcp' | 'rtu'
  readonly #clock: Clock
  readonly #desk: FaultDesk
  readonly #line: InstrumentPort
  readonly #cutter
  #heardUs = 0

  constructor(
    framing: 'tcp' | 'rtu',
    at: { host: string; port: number; clock: Clock; desk: FaultDesk },
    events: PortEvents,
  ) {
    this.#framing = framing
    this.#clock = at.clock
    this.#desk = at.desk
    const take = ({ transaction, unit, pdu }: ModbusFrame) => {
      // Unit 255 means the device at the address itself where there is no gateway (Modbus on TCP/IP V1.0b; from memory).
      if (unit !== UNIT && !(framing === 'tcp' && (unit === 255 || unit === 0))) return
      this.#unit = unit
      events.onBytes(Buffer.from([transaction >> 8, transaction & 0xff, ...pdu]))
    }
    this.#cutter = framing === 'tcp' ? tcpCutter(take) : rtuCutter('requests', take)
    this.#line = new InstrumentPort(at.host, at.port, { ...events, onBytes: (bytes) => this.#hear(bytes) })
    const faults: readonly FaultKind[] = PACKET_FAULTS.filter((kind) =>
      framing === 'tcp' ? kind !== 'noisy-packet' : kind !== 'wrong-id',
    )
    this.bus = {
      faults: framing === 'tcp' ? [...faults, 'link-drop'] : faults,
      requestService: () => undefined,
      dropLink: () => this.#line.drop(),
      lockByOther: () => undefined,
      unlockByOther: () => undefined,
    }
  }

  #unit = UNIT

  get number(): number {
    return this.#line.number
  }

  get connected(): boolean {
    return this.#line.connected
  }

  attach(cable: SerialPair): Promise<void> {
    return this.#line.attach(cable)
  }

  open(): Promise<void> {
    return this.#line.open()
  }

  reopen(): Promise<void> {
    return this.#line.reopen()
  }

  close(): Promise<void> {
    return this.#line.close()
  }

  drop(): void {
    this.#line.drop()
  }

  finishIfDone(): void {
    this.#line.finishIfDone()
  }

  write(text: string): void {
    const bytes = bytesOf(text)
    const transaction = (bytes[0]! << 8) | bytes[1]!
    const pdu = bytes.subarray(2)
    const unit = this.#unit
    const frame = (id: number) =>
      this.#framing === 'tcp' ? writeTcp({ transaction: id, unit, pdu }) : writeRtu({ unit, pdu })
    this.#desk.sendPacket(
      frame(transaction),
      () => frame((transaction - 64) & 0xffff),
      (sent) => this.#line.write(textOf(sent)),
    )
  }

  #hear(bytes: Uint8Array): void {
    const nowUs = this.#clock.now().monoUs
    if (this.#framing === 'rtu' && nowUs - this.#heardUs > BROKEN_OFF_MS * 1000) this.#cutter.reset()
    this.#heardUs = nowUs
    try {
      this.#cutter.push(bytes)
    } catch (fault) {
      if (!(fault instanceof PacketError)) throw fault
      // A server does not answer what it cannot read; over TCP it cannot find the next frame either.
      this.#cutter.reset()
      if (this.#framing === 'tcp') this.#line.drop()
    }
  }
}
