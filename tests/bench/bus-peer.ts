import { RealClock } from '../../main/station/clocks/real.ts'
import { type LabBus, LabBuses } from '../../simulator/buses/lab-buses.ts'
import { FaultDesk } from '../../simulator/faults/desk.ts'
import { LabInstrument } from '../../simulator/instruments/instrument.ts'
import { LineCutter } from '../../simulator/instruments/lines.ts'
import { type Cell, floatWords, RegisterInstrument } from '../../simulator/instruments/registers.ts'
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
const links: string[] = []
for (const id of ['ours', 'bare']) {
  const design = { id, kind: bus === 'modbus' ? 'tb-2m' : 'tb-2', serial: '1', bath: '' } as const
  const parts = { id, serial: '1', clock, desk, port: buses.portOf(design, bus, 0, desk) }
  const instrument = bus === 'modbus' ? new FastTable(parts) : new Fast(parts)
  await instrument.port.open()
  instrument.powerOn()
  links.push(id)
}
await buses.open()
process.stdout.write(`${JSON.stringify(links.map((id) => buses.linkOf(id)))}\n`)
