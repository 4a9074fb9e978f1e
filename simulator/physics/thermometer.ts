import { STEP_S, Trace } from './grid.ts'
import { type RandomStream, Wander } from './randomness.ts'
import { type Curve, resistanceOf, voltageOf } from './sensors.ts'

export interface ThermometerPhysics {
  id: string
  curve: Curve
  /** Time constant in the stirred fluid, s. */
  lagS: number
  /** Warming by its own current, K/W. */
  selfHeatingKPerW: number
  /** Constant distance of its position from the bath's temperature, K. */
  offsetK: number
  /** Independent fluctuation at its position: standard deviation K and memory s. */
  flutterK: number
  flutterMemoryS: number
}

/** What acts on a thermometer that its station is not told of. Everything is nothing by itself. */
export interface Troubles {
  /** Of its place against the bath, K; seconds from the lab's start. */
  placeK(bathC: number, seconds: number): number
  /** Part of the distance to the room's temperature that the element is off by. */
  readonly stemPart: number
  /** By how much it reads high for each kelvin below the hottest it has been, K/K. */
  readonly memoryPart: number
  /** Resistance across its leads, ohm. */
  readonly leakOhm: number
  /** What its resistance is multiplied by. */
  resistanceFactor(seconds: number): number
  /** What its self-heating is multiplied by. */
  readonly heatingFactor: number
  /** What its readings show beside its temperature, K. */
  readingK(seconds: number): number
}

/** A room's temperature, for the heat along a stem, degC. */
const ROOM_C = 23

/** Where a thermometer is: gives the temperature around it at the latest grid step. */
export interface Surroundings {
  readonly latest: number
}

/** A thermometer in its place: follows its surroundings with a lag, and is warmed by whatever current flows. */
export class ThermometerBody {
  readonly design: ThermometerPhysics
  /** Temperature of the place without lag and self-heating, degC: what a calibration calls t90. */
  readonly place: Trace
  /** Temperature of the element, degC. */
  readonly element: Trace
  currentA = 0
  #surroundings: Surroundings
  readonly #flutter: Wander
  readonly #keep: number
  readonly #troubles: Troubles | undefined
  #hottestC = Number.NEGATIVE_INFINITY
  #followedC: number
  #warmedK = 0
  #ohm: number

  constructor(
    design: ThermometerPhysics,
    surroundings: Surroundings,
    stream: RandomStream,
    troubles?: Troubles,
  ) {
    this.design = design
    this.#troubles = troubles
    this.#surroundings = surroundings
    this.#flutter = new Wander(stream, design.flutterK, design.flutterMemoryS, STEP_S)
    this.#keep = Math.exp(-STEP_S / design.lagS)
    this.#followedC = surroundings.latest + design.offsetK
    this.#ohm = resistanceOf(design.curve, this.#followedC) ?? 0
    this.place = new Trace(this.#followedC)
    this.element = new Trace(this.#followedC)
  }

  /** Somebody puts it somewhere else and waits until it has come to the temperature there. */
  moveTo(surroundings: Surroundings): void {
    this.#surroundings = surroundings
    this.#followedC = surroundings.latest + this.design.offsetK
  }

  step(index: number): void {
    const { design } = this
    this.#flutter.step()
    const bathC = this.#surroundings.latest
    const apart = this.#troubles?.placeK(bathC, index * STEP_S) ?? 0
    const around = bathC + design.offsetK + this.#flutter.value + apart
    this.#followedC = around + (this.#followedC - around) * this.#keep
    // Power needs R only roughly; following it once a minute keeps a night of 96 channels cheap.
    if (index % 60 === 0) this.#ohm = resistanceOf(design.curve, this.#followedC) ?? 0
    const perW = design.selfHeatingKPerW * (this.#troubles?.heatingFactor ?? 1)
    const warm = perW * this.currentA * this.currentA * this.#ohm
    this.#warmedK = warm + (this.#warmedK - warm) * this.#keep
    this.place.push(index, around)
    this.element.push(index, this.#followedC + this.#warmedK + this.#beside(index * STEP_S))
  }

  /** What the element is off by beside its lag and its own warming, K. */
  #beside(seconds: number): number {
    if (!this.#troubles) return 0
    const { stemPart, memoryPart } = this.#troubles
    this.#hottestC = Math.max(this.#hottestC, this.#followedC)
    return (
      stemPart * (ROOM_C - this.#followedC) +
      memoryPart * (this.#hottestC - this.#followedC) +
      this.#troubles.readingK(seconds)
    )
  }

  #resistance(seconds: number): number {
    const ohm = resistanceOf(this.design.curve, this.element.at(seconds)) ?? 0
    if (!this.#troubles) return ohm
    const own = ohm * this.#troubles.resistanceFactor(seconds)
    const { leakOhm } = this.#troubles
    return Number.isFinite(leakOhm) ? (own * leakOhm) / (own + leakOhm) : own
  }

  /** Mean resistance between two moments, ohm. */
  meanResistance(fromS: number, toS: number): number {
    return mean(fromS, toS, (t) => this.#resistance(t))
  }

  /** Mean thermal voltage between two moments, mV. */
  meanVoltage(fromS: number, toS: number, junction: Trace): number {
    return mean(fromS, toS, (t) => voltageOf(this.design.curve, this.element.at(t), junction.at(t)))
  }
}

function mean(fromS: number, toS: number, at: (seconds: number) => number): number {
  const samples = Math.min(16, Math.max(1, Math.ceil((toS - fromS) / STEP_S)))
  let sum = 0
  for (let i = 0; i < samples; i += 1) sum += at(fromS + ((i + 0.5) * (toS - fromS)) / samples)
  return sum / samples
}
