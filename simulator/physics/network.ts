import type { ResistorBody } from './resistor.ts'

/** Resistors of a box of terminals, wired together: one alone, or parts in series or in parallel. */
export type Wiring = string | { series: readonly Wiring[] } | { parallel: readonly Wiring[] }

/** A network of reference resistors on one pair of terminals, as long as it is clamped to an input. */
export class ResistorNetwork {
  readonly design: { id: string; wiring: Wiring }
  currentA = 0
  readonly #resistors: ReadonlyMap<string, ResistorBody>

  constructor(design: { id: string; wiring: Wiring }, resistors: ReadonlyMap<string, ResistorBody>) {
    this.design = design
    this.#resistors = resistors
  }

  meanResistance(_fromS: number, toS: number): number {
    return this.#ohm(this.design.wiring, toS)
  }

  /** Copper against copper: no thermal voltage. */
  meanVoltage(): number {
    return 0
  }

  #ohm(wiring: Wiring, seconds: number): number {
    if (typeof wiring === 'string') {
      const body = this.#resistors.get(wiring)
      if (!body) throw new Error(`network ${this.design.id}: there is no resistor ${wiring}`)
      return body.resistance(seconds)
    }
    if ('series' in wiring) return wiring.series.reduce((sum, part) => sum + this.#ohm(part, seconds), 0)
    return 1 / wiring.parallel.reduce((sum, part) => sum + 1 / this.#ohm(part, seconds), 0)
  }
}
