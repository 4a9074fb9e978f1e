import type { Bath } from './bath.ts'
import type { FixedPointCell } from './cell.ts'
import { STEP_S } from './grid.ts'

export interface ProgrammeDesign {
  /** 'hold': at the fixed point; 'melt': up to the melt and through it; 'cycle': the melt, then a freeze. */
  kind: 'hold' | 'melt' | 'cycle'
  /** Furnace above the fixed point while the cell melts, and below it while it freezes, K. */
  meltAboveK: number
  freezeBelowK: number
  /** How far below the fixed point the furnace goes until crystals form, K. */
  seedBelowK: number
}

export type ProgrammePhase = 'off' | 'hold' | 'melt' | 'molten' | 'seed' | 'freeze' | 'done'

/** All of the cell has melted, and so long the furnace waits before it cools, s. */
const MOLTEN_WAIT_S = 900

/**
 * What a furnace does by itself with the cell in it: melts it, cools it until crystals form, comes back and lets it freeze.
 * It sees the cell as a person does who watches the thermometer in it.
 */
export class CellProgramme {
  readonly design: ProgrammeDesign
  phase: ProgrammePhase = 'off'
  readonly #bath: Bath
  readonly #cell: FixedPointCell
  #moltenS = 0

  constructor(design: ProgrammeDesign, bath: Bath, cell: FixedPointCell) {
    this.design = design
    this.#bath = bath
    this.#cell = cell
  }

  begin(): void {
    this.#bath.switch(true)
    this.#moltenS = 0
    this.#enter(this.design.kind === 'hold' ? 'hold' : 'melt')
  }

  end(): void {
    this.phase = 'off'
  }

  step(_index: number): void {
    const { kind } = this.design
    switch (this.phase) {
      case 'melt':
        if (this.#cell.moltenFraction >= 1 && this.#cell.isSeeded === false && this.#isAbove())
          this.#enter('molten')
        break
      case 'molten':
        this.#moltenS += STEP_S
        if (this.#moltenS >= MOLTEN_WAIT_S) this.#enter(kind === 'cycle' ? 'seed' : 'done')
        break
      case 'seed':
        if (this.#cell.isSeeded) this.#enter('freeze')
        break
      case 'freeze':
        if (this.#cell.moltenFraction <= 0) this.#enter('done')
        break
      default:
    }
  }

  #isAbove(): boolean {
    return this.#cell.temperature.latest > this.#cell.design.fixedPointC
  }

  #enter(phase: ProgrammePhase): void {
    const { meltAboveK, freezeBelowK, seedBelowK } = this.design
    const apart: Partial<Record<ProgrammePhase, number>> = {
      hold: 0,
      melt: meltAboveK,
      seed: -seedBelowK,
      freeze: -freezeBelowK,
    }
    this.phase = phase
    const by = apart[phase]
    if (by !== undefined)
      this.#bath.setpointC = Math.round((this.#cell.design.fixedPointC + by) * 1000) / 1000
  }
}
