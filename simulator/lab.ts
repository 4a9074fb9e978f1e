import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Clock, Disposable } from '../app/base/clock.ts'
import type { InstrumentRole } from '../app/instruments/faces.ts'
import { said } from '../app/messages/said.ts'
import type { Bench, LinkSpec } from '../app/records/bench.ts'
import type { Register } from '../app/records/register.ts'
import { type BusPorts, builtFor, busFor, type LabBus, LabBuses } from './buses/lab-buses.ts'
import { ModbusPort } from './buses/modbus-port.ts'
import { applyFault, checkPossible, type OrderedFault } from './faults/apply.ts'
import { FaultDesk } from './faults/desk.ts'
import { FaultError, FaultOrder, type FaultRecord } from './faults/order.ts'
import type { FaultScript } from './faults/script.ts'
import type { HostileCase } from './hostile/cases.ts'
import { drawHostility } from './hostile/hostility.ts'
import { buildInstrument } from './instruments/build.ts'
import type { LabInstrument } from './instruments/instrument.ts'
import { InstrumentPort } from './instruments/port.ts'
import { SERIAL_LINES } from './instruments/serial-lines.ts'
import { SerialPair } from './instruments/serial-pair.ts'
import { readyBench } from './paperwork/bench.ts'
import { drawResistor, paperwork, thermometerEntry } from './paperwork/register.ts'
import { drawThermometer, type ThermometerTruth } from './paperwork/truth.ts'
import { Circuit } from './physics/circuit.ts'
import { randomStream } from './physics/randomness.ts'
import { Room } from './physics/room.ts'
import { SCENARIOS } from './scenarios/index.ts'
import type { Scenario, ScenarioName } from './scenarios/scenario.ts'

export interface LabOptions {
  /** Everything drawn at random follows from it. */
  seed: number
  clock: Clock
  /** 'demo' when left out. */
  scenario?: ScenarioName | Scenario
  host?: '127.0.0.1'
  /** TCP port by instrument id; any free one for those left out. */
  ports?: Readonly<Record<string, number>>
  /**
   * What the instruments are reached by, all of them or by id; 'tcp' when left out. 'serial': they answer on
   * pseudo-terminals. One that has no place on a bus stays on its own TCP port.
   */
  bus?: LabBus | Readonly<Record<string, LabBus>>
  busPorts?: BusPorts
  faults?: FaultScript
  /** What the laboratory does that its station is not told; 'none' when left out. */
  hostile?: HostileCase
}

interface Endpoint {
  id: string
  role: InstrumentRole
  profile: string
  link: LinkSpec
}

/** What only the lab knows. For tests. */
interface LabTruth {
  thermometers: ReadonlyMap<string, ThermometerTruth>
  /** True t90 at a thermometer's place now, degC, without lag and self-heating. */
  temperatureAt(thermometer: string): number
  /** Temperature of its element now, degC, with both. */
  elementOf(thermometer: string): number
  /** True resistance of a reference resistor now, ohm. */
  resistorOhm(resistor: string): number
  bathTemperature(bath: string): number
  /** Every fault so far, with its true times. */
  faults: readonly FaultRecord[]
}

export interface Lab {
  endpoints: readonly Endpoint[]
  /** Ready-made bench for this scenario. */
  bench: Bench
  /** The register entries a metrologist would be handed with it. */
  paperwork: Register
  truth: LabTruth
  /** A person has put a thermometer into another place, and it has come to rest there: a cell or a bath of this lab by its id, or 'room'. */
  move(thermometer: string, place: string): void
  /** Where thermometers can be put. */
  places: readonly string[]
  /** Orders a fault while the lab runs; with `atS` it waits for that moment of lab time, without it starts now. */
  fault(order: FaultOrder): OrderedFault | undefined
  close(): Promise<void>
}

/** A current this much above a thermometer's own is the higher one of a pair. */
const HIGHER = 1.05

/** The room of a scenario: baths, cells, resistors and thermometers as they are drawn, and the wires between them. */
function furnish(scenario: Scenario, { seed, clock, hostile }: LabOptions, startUtcUs: number) {
  const room = new Room(seed, clock)
  const { thermometers, bench } = scenario
  const hostility = drawHostility(hostile ?? 'none', seed, thermometers, bench.uniformityMk / 1000)
  for (const design of scenario.baths) room.addBath(design, -hostility.bathKPerS)
  for (const design of scenario.cells) room.addCell(design)
  for (const design of scenario.instruments) {
    if (design.kind !== 'fc-1') continue
    const cell = [...room.cells.values()].find(({ design: { furnace } }) => furnace === design.bath)
    if (!cell) throw new Error(`furnace ${design.id}: no cell stands in ${design.bath}`)
    room.addProgramme(cell, design.programme)
  }
  const resistors = scenario.resistors.map((design) => {
    const { physics, entry } = drawResistor(design, seed, startUtcUs)
    room.addResistor({ ...physics, keptAtC: physics.keptAtC + hostility.resistorK })
    return entry
  })
  for (const design of scenario.networks ?? []) room.addNetwork(design)
  const truths = new Map<string, ThermometerTruth>()
  const entries = scenario.thermometers.map((design) => {
    const truth = drawThermometer(design, scenario.bench.uniformityMk, seed)
    truths.set(design.id, truth)
    const flutter = { flutterK: scenario.bench.stabilityMk / 1000, flutterMemoryS: 60 }
    const physics = { id: design.id, ...truth, lagS: design.lagS, ...flutter }
    room.addThermometer(physics, design.place, hostile && hostility.of(design.id))
    return thermometerEntry(design, truth, seed, startUtcUs)
  })

  const ownA = new Map(thermometers.map(({ id, currentMa }) => [id, currentMa / 1000]))
  const isHigher = (id: string, currentA: number) => currentA > HIGHER * (ownA.get(id) ?? currentA)
  const circuit = new Circuit(room, (id, currentA) =>
    isHigher(id, currentA) ? currentA * hostility.currentFactor : currentA,
  )
  return { room, hostility, resistors, truths, entries, circuit }
}

/** Lays a serial cable to each instrument that is on one; the folder that holds their ends, if there is one. */
async function layCables(
  scenario: Scenario,
  busOf: (id: string) => LabBus,
  clock: Clock,
  instruments: ReadonlyMap<string, LabInstrument>,
  links: Map<string, LinkSpec>,
): Promise<string | undefined> {
  const onCables = scenario.instruments.filter(
    ({ id, kind }) =>
      busOf(id) === 'serial' || (busOf(id) === 'modbus-rtu' && (kind === 'tb-2m' || kind === 'es-2')),
  )
  if (onCables.length === 0) return undefined
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-lab-'))
  try {
    for (const { id, kind } of onCables) {
      const path = join(folder, id)
      const { port } = instruments.get(id)!
      if (port instanceof InstrumentPort || port instanceof ModbusPort)
        await port.attach(new SerialPair(path, clock))
      const { dataBits, ...line } = SERIAL_LINES[kind]
      links.set(
        id,
        port instanceof ModbusPort
          ? { kind: 'modbus-rtu', path, unit: 1, ...line }
          : { kind: 'serial', path, dataBits, ...line },
      )
    }
    return folder
  } catch (error) {
    rmSync(folder, { recursive: true, force: true })
    throw error
  }
}

/** Starts the lab in a box: physics, instruments and their ports. */
export async function startLab(options: LabOptions): Promise<Lab> {
  const { seed, clock } = options
  const { bus = 'tcp' } = options
  const chosen =
    typeof options.scenario === 'object' ? options.scenario : SCENARIOS[options.scenario ?? 'demo']
  const busById = new Map(
    chosen.instruments.map(({ id, kind }) => [
      id,
      busFor(kind, typeof bus === 'string' ? bus : (bus[id] ?? 'tcp')),
    ]),
  )
  const busOf = (id: string): LabBus => busById.get(id) ?? 'tcp'
  const scenario: Scenario = {
    ...chosen,
    instruments: chosen.instruments.map((design) => builtFor(design, busOf(design.id))),
  }
  const host = options.host ?? '127.0.0.1'
  const startUtcUs = clock.now().utcUs
  const startMonoUs = clock.now().monoUs

  const { room, hostility, resistors, truths, entries, circuit } = furnish(scenario, options, startUtcUs)
  const faultLog: FaultRecord[] = []
  const instruments = new Map<string, LabInstrument>()
  const buses = new LabBuses(host, clock, options.busPorts ?? {})
  for (const design of scenario.instruments) {
    const desk = new FaultDesk(clock, randomStream(seed, `faults ${design.id}`), faultLog)
    const port = buses.portOf(design, busOf(design.id), options.ports?.[design.id] ?? 0, desk)
    instruments.set(design.id, buildInstrument(design, { seed, clock, circuit, port, desk, hostility }))
  }

  const links = new Map<string, LinkSpec>()
  const closing: (() => Promise<void>)[] = []
  const timers: Disposable[] = []
  const close = async () => {
    for (const timer of timers) timer.dispose()
    for (const instrument of instruments.values()) instrument.desk.abandonAll()
    for (const end of closing.splice(0).reverse()) await end()
  }
  try {
    closing.push(() => buses.close())
    await buses.open()
    for (const instrument of instruments.values()) {
      await instrument.port.open()
      closing.push(() => instrument.close())
      instrument.powerOn()
      links.set(instrument.id, buses.linkOf(instrument.id))
    }
    const folder = await layCables(scenario, busOf, clock, instruments, links)
    if (folder !== undefined) closing.unshift(async () => rmSync(folder, { recursive: true, force: true }))
  } catch (error) {
    await close()
    throw error
  }

  const fault = (order: FaultOrder): OrderedFault | undefined => {
    const checked = FaultOrder.parse(order)
    const instrument = instruments.get(checked.instrument)
    if (!instrument) {
      const known = [...instruments.keys()].join(', ')
      throw new FaultError(
        'no-such-instrument',
        said('lab-without-instrument', { instrument: checked.instrument, known }),
      )
    }
    const design = scenario.instruments.find(({ id }) => id === instrument.id)
    const bath = design && 'bath' in design ? room.baths.get(design.bath) : undefined
    const target = { instrument, bath, room, contacts: circuit.contactsOf(instrument.id) }
    checkPossible(checked, target)
    const waitMs = (checked.atS ?? 0) * 1000 - (clock.now().monoUs - startMonoUs) / 1000
    if (checked.atS === undefined || waitMs <= 0) return applyFault(checked, target)
    timers.push(clock.after(waitMs, () => void applyFault(checked, target)))
    return undefined
  }
  try {
    for (const order of options.faults ?? []) fault(order)
  } catch (error) {
    await close()
    throw error
  }

  const endpoints = [...instruments.values()].map(({ id, role, profile }) => ({
    id,
    role,
    profile,
    link: links.get(id)!,
  }))
  const known = <T>(things: ReadonlyMap<string, T>, id: string): T => {
    const thing = things.get(id)
    if (!thing) throw new Error(`the lab has no ${id}`)
    return thing
  }
  return {
    endpoints,
    bench: readyBench(scenario, links),
    paperwork: paperwork(scenario, entries, resistors, startUtcUs),
    truth: {
      thermometers: truths,
      temperatureAt: (id) => known(room.thermometers, id).place.at(room.advance()),
      elementOf: (id) => known(room.thermometers, id).element.at(room.advance()),
      resistorOhm: (id) => known(room.resistors, id).resistance(room.advance()),
      bathTemperature: (id) => known(room.baths, id).temperature.at(room.advance()),
      faults: faultLog,
    },
    move: (thermometer, place) => room.move(thermometer, place),
    places: ['room', ...room.cells.keys(), ...room.baths.keys()],
    fault,
    close,
  }
}
