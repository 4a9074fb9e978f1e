import type { Bath } from '../physics/bath.ts'
import type { Room } from '../physics/room.ts'
import type { InstrumentParts } from './instrument.ts'
import { ScpiFault } from './scpi/errors.ts'
import type { Command } from './scpi/headers.ts'
import { ScpiInstrument } from './scpi/instrument.ts'
import { nr2 } from './scpi/numbers.ts'

export interface BathParts extends InstrumentParts {
  room: Room
  bath: Bath
}

/** What the lab's bath and furnace controllers with SCPI have in common: IEEE 488.2 and SCPI-99 throughout. */
export abstract class ScpiBath extends ScpiInstrument {
  readonly role = 'bath'
  protected readonly terminator = '\n'
  readonly #room: Room
  readonly #bath: Bath

  constructor(parts: BathParts) {
    super(parts)
    this.#room = parts.room
    this.#bath = parts.bath
  }

  override powerOff(): void {
    super.powerOff()
    this.#room.advance()
    this.#bath.switch(false)
  }

  protected override reset(): void {
    this.#room.advance()
    this.#bath.powerUp()
  }

  /** A setpoint came, or the output was switched off, from outside. */
  protected setByHand(): void {}

  protected override pendingUntilUs(): number {
    return 0
  }

  protected override operationCondition(): number {
    this.#room.advance()
    return this.#bath.settling ? 2 : 0
  }

  protected override questionableCondition(): number {
    this.#room.advance()
    return this.#bath.sensorBroken || this.#bath.tripped ? 16 : 0
  }

  protected override commands(): Command[] {
    const bath = this.#bath
    const { lowC, highC } = bath.design
    const room = this.#room
    return [
      {
        header: 'SOURce:TEMPerature:SPOint',
        tell: (a) => {
          const limits = { low: lowC, high: highC, suffixes: { CEL: 1 } }
          const celsius = a.expect(1).number(0, limits)
          room.advance()
          this.setByHand()
          bath.setpointC = Math.round(celsius * 1000) / 1000
        },
        ask: () => nr2(bath.setpointC, 3),
      },
      { header: 'SOURce:TEMPerature:LIMit:LOW', ask: () => nr2(lowC, 3) },
      { header: 'SOURce:TEMPerature:LIMit:HIGH', ask: () => nr2(highC, 3) },
      {
        header: 'SOURce:TEMPerature:RAMP[:RATE]',
        tell: (a) => {
          bath.rampKPerMin = a.expect(1).number(0, { low: 0, high: 20 })
        },
        ask: () => nr2(bath.rampKPerMin, 3),
      },
      {
        header: 'SENSe:TEMPerature[:DATA]',
        ask: () => {
          const shown = bath.shown(room.advance())
          return nr2(this.desk.observe(shown ?? Number.NaN), 3)
        },
      },
      {
        header: 'OUTPut[:STATe]',
        tell: (a) => {
          const on = a.expect(1).boolean(0)
          room.advance()
          if (on && bath.sensorBroken) throw new ScpiFault(-240)
          if (on && bath.tripped) throw new ScpiFault(-221)
          if (!on) this.setByHand()
          bath.switch(on)
        },
        ask: () => {
          room.advance()
          return bath.on ? '1' : '0'
        },
      },
      {
        header: 'OUTPut:LEVel',
        ask: () => {
          room.advance()
          return nr2((100 * bath.powerW) / bath.design.heaterW, 1)
        },
      },
      {
        header: 'OUTPut:PROTection:TRIPped',
        ask: () => {
          room.advance()
          return bath.tripped ? '1' : '0'
        },
      },
      {
        header: 'OUTPut:PROTection:CLEar',
        tell: () => {
          room.advance()
          if (!bath.clearTrip()) throw new ScpiFault(-221)
        },
      },
    ]
  }
}
