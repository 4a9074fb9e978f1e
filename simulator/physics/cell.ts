import { STEP_S, Trace } from './grid.ts'

export interface CellDesign {
  id: string
  /** The bath or furnace it stands in. */
  furnace: string
  substance: string
  /** Equilibrium temperature of the pure substance at the thermometer's depth, degC. */
  fixedPointC: number
  /** Heat to melt all of it, J, and its heat capacity (with the well), J/K. */
  latentJ: number
  capacityJPerK: number
  couplingWPerK: number
  /** How far below the fixed point the melt cools before crystals form, K. */
  supercoolK: number
  /** Lowering at the moment when half is molten, from what is dissolved in it, K; grows as 1/fraction molten. */
  impurityK: number
  /** How much of it is molten when the lab starts: 0 frozen, 1 all. */
  moltenAtStart: number
}

/**
 * A fixed-point cell by its heat content. Frozen and warming: melts at the liquidus. Molten and cooling: supercools,
 * then crystals form, it springs back to the plateau and freezes along it until nothing is left to freeze.
 */
export class FixedPointCell {
  readonly design: CellDesign
  readonly temperature: Trace
  readonly #furnace: Trace
  /** Heat above solid at the fixed point, J. */
  #heatJ: number
  /** Whether there are crystals: without them the melt supercools. */
  #seeded: boolean

  constructor(design: CellDesign, furnace: Trace) {
    this.design = design
    this.#furnace = furnace
    const { latentJ, moltenAtStart, capacityJPerK, fixedPointC } = design
    this.#seeded = moltenAtStart < 1
    this.#heatJ = latentJ * moltenAtStart
    // Only a whole solid or a whole melt can be away from the fixed point.
    const apartJ = (furnace.latest - fixedPointC) * capacityJPerK
    if (moltenAtStart === 0) this.#heatJ += Math.min(0, apartJ)
    if (moltenAtStart === 1) this.#heatJ += Math.max(0, apartJ)
    this.temperature = new Trace(this.#celsius())
  }

  get moltenFraction(): number {
    return this.#seeded ? Math.min(1, Math.max(0, this.#heatJ / this.design.latentJ)) : 1
  }

  /** Whether there are crystals in it. */
  get isSeeded(): boolean {
    return this.#seeded
  }

  step(index: number): void {
    const { design } = this
    this.#heatJ += design.couplingWPerK * (this.#furnace.latest - this.#celsius()) * STEP_S
    if (this.#heatJ >= design.latentJ) this.#seeded = false
    else if (!this.#seeded && this.#celsius() <= design.fixedPointC - design.supercoolK) this.#seeded = true
    this.temperature.push(index, this.#celsius())
  }

  #celsius(): number {
    const { fixedPointC, latentJ, capacityJPerK, impurityK } = this.design
    if (this.#heatJ >= latentJ || !this.#seeded) {
      return fixedPointC - impurityK / 2 + (this.#heatJ - latentJ) / capacityJPerK
    }
    const fraction = Math.max(this.#heatJ / latentJ, 0)
    const lowering = impurityK / (2 * Math.max(fraction, 0.02))
    if (this.#heatJ >= 0) return fixedPointC - lowering
    return fixedPointC - impurityK / (2 * 0.02) + this.#heatJ / capacityJPerK
  }
}
