import type { Clock } from '../../../app/base/clock.ts'
import type { LinkSpec } from '../../../app/records/bench.ts'
import { hislipConnect } from '../../../drivers/link/hislip.ts'
import { modbusConnect } from '../../../drivers/link/modbus.ts'
import type { RegisterRule } from '../../../drivers/link/registers.ts'
import { tcpConnect } from '../../../drivers/link/tcp.ts'
import { usbipOpener } from '../../../drivers/link/usbip.ts'
import { usbtmcConnect } from '../../../drivers/link/usbtmc.ts'
import { vxi11Connect } from '../../../drivers/link/vxi11.ts'
import type { Connect } from '../../../drivers/link/wire.ts'
import { type LabBus, LabBuses } from '../../../simulator/buses/lab-buses.ts'
import { FaultDesk } from '../../../simulator/faults/desk.ts'
import type { FaultRecord } from '../../../simulator/faults/order.ts'
import { type InstrumentParts, LabInstrument } from '../../../simulator/instruments/instrument.ts'
import { LineCutter } from '../../../simulator/instruments/lines.ts'
import { type Cell, RegisterInstrument } from '../../../simulator/instruments/registers.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'

/** Over which buses the exchanges run. A serial line with Modbus is its frames over a socket: no adapter, the same rules. */
export const SOAK_BUSES = ['hislip', 'vxi-11', 'usbtmc', 'modbus', 'modbus-rtu'] as const
export type SoakBus = (typeof SOAK_BUSES)[number]

/** Registers that can be asked for; each has a value of its own. */
const REGISTERS = 600

/** The answer to question n, which belongs to no other question. */
const answerTo = (n: number): number => (n * 7 + 3) % 65_521

/** An order that the far end has heard, and when. */
export interface Heard {
  readonly n: number
  readonly atUs: number
}

/** An instrument that answers each question with a number of its own, and keeps a book of the orders it hears. */
export interface Peer {
  readonly instrument: LabInstrument
  readonly heard: readonly Heard[]
  readonly connect: Connect
  readonly question: (n: number) => string
  readonly order: (n: number) => string
  /** Whether orders are answered. */
  readonly acknowledges: boolean
  /** The number that a readable answer says; undefined where it is none. */
  readonly read: (reply: string) => number | undefined
  readonly expected: (n: number) => number
  readonly identify: string
  readonly identity: RegExp
  close(): Promise<void>
}

class Teller extends LabInstrument {
  readonly role = 'meter'
  readonly profile = 'soak'
  protected readonly terminator = '\n'
  readonly heard: Heard[] = []
  readonly #lines = new LineCutter('\n', 200)

  protected override powerUp(): void {}

  protected override forget(): void {
    this.#lines.clear()
  }

  protected override receive(text: string): void {
    for (const line of this.#lines.take(text)) {
      const [, asked, told] = /^(?:VAL\? (\d+)|SET (\d+))$/.exec(line ?? '') ?? []
      if (told !== undefined) this.heard.push({ n: Number(told), atUs: this.clock.now().monoUs })
      else if (asked !== undefined) this.#later(`V${answerTo(Number(asked))}`, line!)
      else if (line === '*IDN?') this.#later('SOAK,TELLER,1,1', line)
    }
  }

  #later(reply: string, line: string): void {
    this.answerLater(2, () => this.send(reply, line))
  }
}

class Table extends RegisterInstrument {
  readonly role = 'meter'
  readonly profile = 'soak'
  protected readonly model = 'TABLE'
  protected readonly firmware = '1'
  readonly heard: Heard[] = []
  readonly #input: readonly Cell[] = Array.from({ length: REGISTERS }, (_, address) => ({
    address,
    count: 1,
    read: () => [answerTo(address)],
  }))

  protected override powerUp(): void {}

  protected override input(): readonly Cell[] {
    return this.#input
  }

  protected override holding(): readonly Cell[] {
    const write = (words: readonly number[]) => {
      this.heard.push({ n: words[0]! * 65_536 + words[1]!, atUs: this.clock.now().monoUs })
      return true
    }
    return [{ address: 0, count: 2, read: () => [0, 0], write }]
  }
}

const registers: Readonly<Record<string, RegisterRule>> = {
  order: { table: 'holding', address: 0, type: 'uint32', words: 'high-first', length: 1, power: 0 },
  name: { table: 'input', address: 1, type: 'uint32', words: 'high-first', length: 1, power: 0 },
  ...Object.fromEntries(
    Array.from({ length: REGISTERS }, (_, address) => [
      `r${address}`,
      { table: 'input', address, type: 'uint16', words: 'high-first', length: 1, power: 0 } as const,
    ]),
  ),
}

/** Opens the far end of one bus, with the lab's own servers and faults. */
export async function openPeer(bus: SoakBus, seed: number, clock: Clock, log: FaultRecord[]): Promise<Peer> {
  const desk = new FaultDesk(clock, randomStream(seed, `faults ${bus}`), log)
  const buses = new LabBuses('127.0.0.1', clock, {})
  const onModbus = bus === 'modbus' || bus === 'modbus-rtu'
  const design = onModbus
    ? ({ id: 'far', kind: 'tb-2m', serial: '1', bath: '' } as const)
    : ({ id: 'far', kind: 'tb-2', serial: '1', bath: '' } as const)
  const parts: InstrumentParts = {
    id: 'far',
    serial: '1',
    clock,
    desk,
    port: buses.portOf(design, bus satisfies LabBus, 0, desk),
  }
  const instrument = onModbus ? new Table(parts) : new Teller(parts)
  await buses.open()
  await instrument.port.open()
  instrument.powerOn()
  const base = {
    instrument,
    heard: instrument.heard,
    acknowledges: onModbus,
    connect: connectTo(buses.linkOf('far'), bus, clock),
    close: async () => {
      desk.abandonAll()
      await instrument.close()
      await buses.close()
    },
  }
  if (!onModbus) {
    return {
      ...base,
      question: (n) => `VAL? ${n}\n`,
      order: (n) => `SET ${n}\n`,
      read: (reply) => (/^V\d+$/.test(reply) ? Number(reply.slice(1)) : undefined),
      expected: answerTo,
      identify: '*IDN?\n',
      identity: /^SOAK,TELLER/,
    }
  }
  return {
    ...base,
    question: (n) => `r${n % REGISTERS}?\n`,
    order: (n) => `order ${n}\n`,
    read: (reply) => (/^\d+ \[[0-9A-F]{4}\]$/.test(reply) ? Number(reply.split(' ')[0]) : undefined),
    expected: (n) => answerTo(n % REGISTERS),
    identify: 'name?\n',
    identity: /^\d+ \[[0-9A-F]{4} [0-9A-F]{4}\]$/,
  }
}

function connectTo(link: LinkSpec, bus: SoakBus, clock: Clock): Connect {
  const common = { connectMs: 2000, owner: 'soak', terminator: '\n', shared: false }
  switch (link.kind) {
    case 'hislip':
      return hislipConnect({ ...link, ...common }, clock)
    case 'vxi-11':
      return vxi11Connect({ ...link, ...common, portmapper: link.portmapper ?? 111, interrupts: true }, clock)
    case 'usbtmc': {
      const { vendor, product, serial, sharedBy } = link
      const open = usbipOpener({ ...sharedBy!, connectMs: common.connectMs }, clock)
      return usbtmcConnect({ ...common, vendor, product, serial, at: '' }, open, clock)
    }
    case 'modbus-tcp': {
      const inner = tcpConnect({ host: link.host, port: link.port, ...common }, clock)
      return modbusConnect(inner, { framing: bus === 'modbus' ? 'tcp' : 'rtu', unit: 1, registers })
    }
    default:
      throw new Error(`no peer for ${link.kind}`)
  }
}
