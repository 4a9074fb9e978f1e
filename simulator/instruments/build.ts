import type { Clock } from '../../app/records/clock.ts'
import type { FaultDesk } from '../faults/desk.ts'
import { RATIO_KNOWN } from '../paperwork/register.ts'
import { type Circuit, Switch, type Terminal } from '../physics/circuit.ts'
import { RatioElectronics } from '../physics/electronics.ts'
import { randomStream } from '../physics/randomness.ts'
import type { ResistorBody } from '../physics/resistor.ts'
import type { InstrumentDesign } from '../scenarios/scenario.ts'
import { Cs16 } from './cs-16.ts'
import { Es1 } from './es-1.ts'
import type { LabInstrument } from './instrument.ts'
import { Rb8 } from './rb-8.ts'
import { Tb2 } from './tb-2.ts'

export interface Surroundings {
  seed: number
  clock: Clock
  circuit: Circuit
  host: string
  port: number
  desk: FaultDesk
}

/** Builds one instrument into the room, with its contacts in the circuit. */
export function buildInstrument(design: InstrumentDesign, around: Surroundings): LabInstrument {
  const { seed, circuit } = around
  const { room } = circuit
  const stream = (what: string) => randomStream(seed, `${what} ${design.id}`)
  const parts = { ...around, id: design.id, serial: design.serial }
  const contacts = (inputs: Record<number, Terminal>) =>
    new Switch(
      design.id,
      new Map(Object.entries(inputs).map(([n, to]) => [Number(n), to])),
      stream('contacts'),
    )
  const required = <T>(thing: T | undefined, what: string): T => {
    if (thing === undefined) throw new Error(`${design.id}: ${what} is not in the scenario`)
    return thing
  }
  switch (design.kind) {
    case 'rb-8': {
      const electronics = new RatioElectronics(RATIO_KNOWN[design.kind], stream('electronics'))
      const resistors = new Map<number, ResistorBody>(
        Object.entries(design.resistors).map(([n, id]) => [Number(n), required(room.resistors.get(id), id)]),
      )
      const bridge = new Rb8({ ...parts, inputs: contacts(design.inputs), electronics, resistors })
      circuit.addSource(bridge)
      return bridge
    }
    case 'cs-16': {
      const inputs = contacts(design.inputs)
      circuit.addSwitch(inputs)
      return new Cs16({ ...parts, inputs, slots: design.slots ?? 1 })
    }
    case 'tb-2':
      return new Tb2({ ...parts, room, bath: required(room.baths.get(design.bath), design.bath) })
    default:
      throw new Error(`${design.id}: no ${design.kind} can be built`)
    case 'es-1':
      return new Es1({ ...parts, room, stream: stream('air') })
  }
}
