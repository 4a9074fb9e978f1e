import { STEP_S, Trace } from './grid.ts'
import { type RandomStream, Wander } from './randomness.ts'

export interface ResistorPhysics {
  id: string
  /** True value at `celsius` on the day the lab starts, ohm. */
  ohm: number
  celsius: number
  alphaPerK: number
  betaPerK2: number
  /** True temperature of its enclosure on average, degC, and how it wanders: standard deviation K, memory s. */
  keptAtC: number
  wanderK: number
  wanderMemoryS: number
}

/** A reference resistor in its enclosure. Drift over one night is below everything else and left out. */
export class ResistorBody {
  readonly design: ResistorPhysics
  readonly temperature: Trace
  readonly #wander: Wander

  constructor(design: ResistorPhysics, stream: RandomStream) {
    this.design = design
    this.#wander = new Wander(stream, design.wanderK, design.wanderMemoryS, STEP_S)
    this.temperature = new Trace(design.keptAtC + this.#wander.value)
  }

  step(index: number): void {
    this.#wander.step()
    this.temperature.push(index, this.design.keptAtC + this.#wander.value)
  }

  resistance(seconds: number): number {
    const { ohm, celsius, alphaPerK, betaPerK2 } = this.design
    const apart = this.temperature.at(seconds) - celsius
    return ohm * (1 + alphaPerK * apart + betaPerK2 * apart * apart)
  }
}
