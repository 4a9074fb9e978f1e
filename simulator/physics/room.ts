import type { Clock } from '../../app/base/clock.ts'
import { Ambient } from './ambient.ts'
import { Bath, type BathDesign } from './bath.ts'
import { type CellDesign, FixedPointCell } from './cell.ts'
import { CellProgramme, type ProgrammeDesign } from './cell-programme.ts'
import { STEP_S } from './grid.ts'
import { ResistorNetwork, type Wiring } from './network.ts'
import { randomStream } from './randomness.ts'
import { ResistorBody, type ResistorPhysics } from './resistor.ts'
import { type Surroundings, ThermometerBody, type ThermometerPhysics, type Troubles } from './thermometer.ts'

/**
 * Everything in the laboratory that has a temperature. Advances only when somebody looks, always on the same grid, to
 * the first grid step not before now; what is done to it between two steps acts from the next one.
 */
export class Room {
  readonly ambient: Ambient
  readonly baths = new Map<string, Bath>()
  readonly cells = new Map<string, FixedPointCell>()
  readonly thermometers = new Map<string, ThermometerBody>()
  readonly resistors = new Map<string, ResistorBody>()
  readonly networks = new Map<string, ResistorNetwork>()
  /** By bath. */
  readonly programmes = new Map<string, CellProgramme>()
  readonly #seed: number
  readonly #clock: Clock
  readonly #startUs: number
  readonly #bodies: { step(index: number): void }[] = []
  #index = 0

  constructor(seed: number, clock: Clock) {
    this.#seed = seed
    this.#clock = clock
    this.#startUs = clock.now().monoUs
    this.ambient = new Ambient(randomStream(seed, 'ambient'))
    this.#bodies.push(this.ambient)
  }

  /** `sensorKPerS`: steady drift of its control sensor, which the bath follows the other way. */
  addBath(design: BathDesign, sensorKPerS = 0): Bath {
    const stream = randomStream(this.#seed, `bath ${design.id}`)
    const bath = new Bath(design, this.ambient, stream, sensorKPerS)
    this.baths.set(design.id, bath)
    this.#bodies.push(bath)
    return bath
  }

  addCell(design: CellDesign): FixedPointCell {
    const furnace = this.baths.get(design.furnace)
    if (!furnace) throw new Error(`cell ${design.id} stands in no bath: ${design.furnace} is unknown`)
    const cell = new FixedPointCell(design, furnace.temperature)
    this.cells.set(design.id, cell)
    this.#bodies.push(cell)
    return cell
  }

  /** A furnace that works its cell by itself. */
  addProgramme(cell: FixedPointCell, design: ProgrammeDesign): void {
    const bath = this.baths.get(cell.design.furnace)!
    const programme = new CellProgramme(design, bath, cell)
    this.programmes.set(bath.design.id, programme)
    this.#bodies.push(programme)
  }

  addNetwork(design: { id: string; wiring: Wiring }): void {
    this.networks.set(design.id, new ResistorNetwork(design, this.resistors))
  }

  addThermometer(design: ThermometerPhysics, place: string, troubles?: Troubles): ThermometerBody {
    const surroundings = this.#at(design.id, place)
    const stream = randomStream(this.#seed, `thermometer ${design.id}`)
    const body = new ThermometerBody(design, surroundings, stream, troubles)
    this.thermometers.set(design.id, body)
    this.#bodies.push(body)
    return body
  }

  /** A person takes a thermometer out, puts it into another place (a cell, a bath, the room) and waits for its temperature. */
  move(thermometer: string, place: string): void {
    const body = this.thermometers.get(thermometer)
    if (!body) throw new Error(`the room has no thermometer ${thermometer}`)
    this.advance()
    body.moveTo(this.#at(thermometer, place))
  }

  #at(thermometer: string, place: string): Surroundings {
    const found =
      place === 'room'
        ? this.ambient.temperature
        : (this.cells.get(place)?.temperature ?? this.baths.get(place)?.temperature)
    if (!found) throw new Error(`thermometer ${thermometer} is in no known place: ${place}`)
    return found
  }

  addResistor(design: ResistorPhysics): ResistorBody {
    const body = new ResistorBody(design, randomStream(this.#seed, `resistor ${design.id}`))
    this.resistors.set(design.id, body)
    this.#bodies.push(body)
    return body
  }

  /** Seconds since the lab started, after bringing the room up to this moment. */
  advance(): number {
    const seconds = (this.#clock.now().monoUs - this.#startUs) / 1e6
    const wanted = Math.ceil(seconds / STEP_S)
    while (this.#index < wanted) {
      this.#index += 1
      for (const body of this.#bodies) body.step(this.#index)
    }
    return seconds
  }
}
