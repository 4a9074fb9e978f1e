import type { Clock } from '../../app/base/clock.ts'
import type { FaultDesk } from '../faults/desk.ts'
import type { Hostility } from '../hostile/hostility.ts'
import { JUNCTION_KNOWN_K, METER_KNOWN, RATIO_KNOWN } from '../paperwork/register.ts'
import { type Circuit, type Source, Switch, type Terminal } from '../physics/circuit.ts'
import { MeterElectronics, RatioElectronics } from '../physics/electronics.ts'
import { Trace } from '../physics/grid.ts'
import { randomStream } from '../physics/randomness.ts'
import type { ResistorBody } from '../physics/resistor.ts'
import type { InstrumentDesign } from '../scenarios/scenario.ts'
import { Cs16 } from './cs-16.ts'
import { Cs32 } from './cs-32.ts'
import { Dm7 } from './dm-7.ts'
import { Es1 } from './es-1.ts'
import { Es2 } from './es-2.ts'
import { Fc1 } from './fc-1.ts'
import type { LabInstrument } from './instrument.ts'
import type { LabPort, PortEvents } from './port.ts'
import { Rb3 } from './rb-3.ts'
import { Rb8 } from './rb-8.ts'
import { Tb1 } from './tb-1.ts'
import { Tb2 } from './tb-2.ts'
import { Tb2m } from './tb-2m.ts'

export interface Surroundings {
  seed: number
  clock: Clock
  circuit: Circuit
  port: (events: PortEvents) => LabPort
  desk: FaultDesk
  hostility: Hostility
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
  const ratioBridge = (bridge: Extract<InstrumentDesign, { kind: 'rb-8' | 'rb-3' }>) => ({
    ...parts,
    inputs: contacts(bridge.inputs),
    electronics: new RatioElectronics(RATIO_KNOWN[bridge.kind], stream('electronics')),
    resistors: new Map<number, ResistorBody>(
      Object.entries(bridge.resistors).map(([n, id]) => [Number(n), required(room.resistors.get(id), id)]),
    ),
  })
  const scanner = (box: Extract<InstrumentDesign, { kind: 'cs-16' | 'cs-32' }>) => {
    const inputs = contacts(box.inputs)
    circuit.addSwitch(inputs)
    return { ...parts, inputs, slots: box.slots ?? 1 }
  }
  const source = <S extends LabInstrument & Source>(instrument: S): S => {
    circuit.addSource(instrument)
    return instrument
  }
  switch (design.kind) {
    case 'rb-8':
      return source(new Rb8(ratioBridge(design)))
    case 'rb-3':
      return source(new Rb3(ratioBridge(design)))
    case 'cs-16':
      return new Cs16(scanner(design))
    case 'cs-32':
      return new Cs32(scanner(design))
    case 'tb-2':
      return new Tb2({ ...parts, room, bath: required(room.baths.get(design.bath), design.bath) })
    case 'fc-1': {
      const bath = required(room.baths.get(design.bath), design.bath)
      const programme = required(room.programmes.get(design.bath), `programme of ${design.bath}`)
      return new Fc1({ ...parts, room, bath, programme })
    }
    case 'tb-1':
      return new Tb1({ ...parts, room, bath: required(room.baths.get(design.bath), design.bath) })
    case 'dm-7': {
      const ohms = new MeterElectronics(stream('ohms'), METER_KNOWN.ohmGain, 0)
      const { meterGain, meterOffsetV, junctionC } = around.hostility
      const volts = new MeterElectronics(stream('volts'), METER_KNOWN.voltGain, METER_KNOWN.voltOffset, {
        gain: meterGain,
        offset: meterOffsetV,
      })
      const ice = new Trace(JUNCTION_KNOWN_K * stream('junction').normal() + junctionC)
      return source(
        new Dm7({ ...parts, circuit, inputs: contacts(design.inputs), ohms, volts, junction: ice }),
      )
    }
    case 'tb-2m':
      return new Tb2m({ ...parts, room, bath: required(room.baths.get(design.bath), design.bath) })
    case 'es-1':
      return new Es1({ ...parts, room, stream: stream('air') })
    case 'es-2':
      return new Es2({ ...parts, room, stream: stream('air') })
  }
}
