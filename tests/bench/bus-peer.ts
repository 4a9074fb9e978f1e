import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { LinkSpec } from '../../app/records/bench.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { type LabBus, LabBuses } from '../../simulator/buses/lab-buses.ts'
import type { ModbusPort } from '../../simulator/buses/modbus-port.ts'
import { FaultDesk } from '../../simulator/faults/desk.ts'
import { LabInstrument } from '../../simulator/instruments/instrument.ts'
import { LineCutter } from '../../simulator/instruments/lines.ts'
import { type Cell, floatWords, RegisterInstrument } from '../../simulator/instruments/registers.ts'
import { SerialPair } from '../../simulator/instruments/serial-pair.ts'
import { randomStream } from '../../simulator/physics/randomness.ts'

/** The far end of a bus bench, in a process of its own: answers every question at once. Says how it is reached, as JSON. */
class Fast extends LabInstrument {
  readonly role = 'meter'
  readonly profile = 'bench'
  protected readonly terminator = '\n'
  readonly #lines = new LineCutter('\n', 200)

  protected override powerUp(): void {}
  protected override forget(): void {
    this.#lines.clear()
  }
  protected override receive(text: string): void {
    for (const line of this.#lines.take(text)) if (line?.endsWith('?')) this.send('+2.551234568E-01', line)
  }
}

class FastTable extends RegisterInstrument {
  readonly role = 'meter'
  readonly profile = 'bench'
  protected readonly model = 'FAST'
  protected readonly firmware = '1'
  protected override readonly answerMs = 0

  protected override powerUp(): void {}
  protected override input(): readonly Cell[] {
    return [{ address: 0, count: 2, read: () => floatWords(0.2551234568) }]
  }
  protected override holding(): readonly Cell[] {
    return []
  }
}

const bus = process.argv[2] as LabBus
const clock = new RealClock()
const desk = new FaultDesk(clock, randomStream(1, 'bench'), [])
const buses = new LabBuses('127.0.0.1', clock, {})
// Two places: one for the link that is measured, one for the bare loop beside it.
const links = new Map<string, () => LinkSpec>()
const onModbus = bus === 'modbus' || bus === 'modbus-rtu'
const folder = mkdtempSync(join(tmpdir(), 'stillpoint-bench-'))
const cables: SerialPair[] = []
process.on('SIGTERM', async () => {
  await Promise.all(cables.map((cable) => cable.stop()))
  rmSync(folder, { recursive: true, force: true })
  process.exit()
})
for (const id of ['ours', 'bare']) {
  const serial = `${links.size + 1}`
  const design = { id, kind: onModbus ? 'tb-2m' : 'tb-2', serial, bath: '' } as const
  const parts = { id, serial, clock, desk, port: buses.portOf(design, bus, 0, desk) }
  const instrument = onModbus ? new FastTable(parts) : new Fast(parts)
  await instrument.port.open()
  instrument.powerOn()
  links.set(id, () => buses.linkOf(id))
  if (bus !== 'modbus-rtu') continue
  // The far end of a serial line: each has a pair of its own.
  const path = join(folder, id)
  const cable = new SerialPair(path, clock)
  await (instrument.port as ModbusPort).attach(cable)
  cables.push(cable)
  links.set(id, () => ({ kind: 'modbus-rtu', path, unit: 1, baud: 115_200 }))
}
await buses.open()
process.stdout.write(`${JSON.stringify([...links.values()].map((link) => link()))}\n`)
