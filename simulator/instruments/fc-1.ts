import type { CellProgramme } from '../physics/cell-programme.ts'
import type { Command } from './scpi/headers.ts'
import { type BathParts, ScpiBath } from './scpi-bath.ts'

export interface FurnaceParts extends BathParts {
  programme: CellProgramme
}

/**
 * Furnace controller with the programme of its cell: from power-up on it melts the cell and freezes it again, or holds it,
 * by itself. A setpoint from outside, or the output off, ends the programme.
 */
export class Fc1 extends ScpiBath {
  readonly profile = 'lab-fc-1'
  protected readonly model = 'FC-1'
  protected readonly firmware = '1.0'
  readonly #programme: CellProgramme
  readonly #advance: () => void

  constructor(parts: FurnaceParts) {
    super(parts)
    this.#programme = parts.programme
    this.#advance = () => void parts.room.advance()
  }

  override powerOff(): void {
    super.powerOff()
    this.#programme.end()
  }

  protected override reset(): void {
    super.reset()
    this.#programme.end()
  }

  protected override powerUp(): void {
    super.powerUp()
    this.#programme.begin()
  }

  protected override setByHand(): void {
    this.#programme.end()
  }

  protected override commands(): Command[] {
    return [
      ...super.commands(),
      {
        header: 'SOURce:PROGram[:STATe]',
        tell: (a) => {
          const on = a.expect(1).boolean(0)
          this.#advance()
          if (on) this.#programme.begin()
          else this.#programme.end()
        },
        ask: () => {
          this.#advance()
          return this.#programme.phase === 'off' ? '0' : '1'
        },
      },
      {
        header: 'SOURce:PROGram:PHASe',
        ask: () => {
          this.#advance()
          return this.#programme.phase.toUpperCase()
        },
      },
    ]
  }
}
