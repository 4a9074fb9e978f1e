import type { Ambient } from './ambient.ts'
import { BathController, type ControllerGains } from './controller.ts'
import { STEP_S, Trace } from './grid.ts'
import { type RandomStream, Wander } from './randomness.ts'

export interface BathDesign {
  id: string
  lowC: number
  highC: number
  /** Heat capacity of fluid and vessel, J/K. */
  capacityJPerK: number
  heaterW: number
  /** Cooler at room temperature; falls by `coolerFallWPerK` for each kelvin below it, to nothing. */
  coolerW: number
  coolerFallWPerK: number
  /** Coupling to the room, W/K. */
  lossWPerK: number
  stirrerW: number
  /** Time constants of heater and control sensor, s. */
  heaterLagS: number
  sensorLagS: number
  gains: ControllerGains
  /** Error of the control sensor, drawn, standard deviation K. */
  sensorErrorK: number
  /** Slow wander of the control sensor: standard deviation K and memory s. */
  driftK: number
  driftMemoryS: number
  /** What all positions feel alike from the stirring: standard deviation K and memory s. */
  flutterK: number
  flutterMemoryS: number
  /** Independent cut-out, degC. */
  cutOutC: number
  /** Temperature it was brought to before the lab starts, and holds; absent: at the room's, switched off. */
  holdsC?: number
}

const ROOM_C = 23

/** Faults that can be ordered of a bath. */
export type BathFault = 'runaway-heater' | 'no-cooling' | 'sensor-fault'

/** A stirred bath with its controller: heater and fluid as two masses, the control sensor a third. */
export class Bath {
  readonly design: BathDesign
  readonly temperature: Trace
  readonly sensor: Trace
  readonly faults = new Set<BathFault>()
  setpointC = 25
  rampKPerMin = 0
  on = false
  tripped = false
  /** Power asked for in the last step, W. */
  powerW = 0
  /** Grid step until which the setpoint has been out of reach within the last minute. */
  #lastFar = 0
  #index = 0
  #fluidC: number
  #sensorC: number
  #heatW = 0
  #targetC: number
  readonly #sensorErrorK: number
  readonly #controller: BathController
  readonly #ambient: Ambient
  readonly #drift: Wander
  readonly #sensorKPerS: number
  readonly #flutter: Wander

  constructor(design: BathDesign, ambient: Ambient, stream: RandomStream, sensorKPerS = 0) {
    this.design = design
    this.#sensorKPerS = sensorKPerS
    this.#ambient = ambient
    this.#controller = new BathController(design.gains)
    this.#sensorErrorK = design.sensorErrorK * stream.normal()
    this.#drift = new Wander(stream, design.driftK, design.driftMemoryS, STEP_S)
    this.#flutter = new Wander(stream, design.flutterK, design.flutterMemoryS, STEP_S)
    const startC = design.holdsC ?? ROOM_C
    this.on = design.holdsC !== undefined
    this.setpointC = design.holdsC ?? 25
    this.#fluidC = startC
    this.#sensorC = startC
    this.#targetC = this.setpointC
    this.temperature = new Trace(startC)
    this.sensor = new Trace(startC)
  }

  /** True when it is on and the control sensor has been further than 20 mK from the setpoint within the last minute. */
  get settling(): boolean {
    return this.on && this.#index - this.#lastFar < 60 / STEP_S
  }

  get sensorBroken(): boolean {
    return this.faults.has('sensor-fault')
  }

  /** What the front panel would show; undefined with a broken sensor. */
  shown(seconds: number): number | undefined {
    return this.sensorBroken ? undefined : this.sensor.at(seconds)
  }

  switch(on: boolean): void {
    if (on && !this.on) {
      this.#controller.reset()
      this.#targetC = this.sensor.latest
    }
    this.on = on
  }

  powerUp(): void {
    this.on = false
    this.setpointC = 25
    this.rampKPerMin = 0
    this.#controller.reset()
  }

  /** Takes the cut-out back; false while the bath is still too hot. */
  clearTrip(): boolean {
    if (this.#fluidC >= this.design.cutOutC) return false
    this.tripped = false
    return true
  }

  step(index: number): void {
    const { design } = this
    this.#index = index
    const room = this.#ambient.temperature.latest
    if (this.sensorBroken) this.on = false
    if (this.#fluidC >= design.cutOutC) this.tripped = true

    this.#followRamp()
    const coolerW = this.faults.has('no-cooling')
      ? 0
      : Math.max(0, design.coolerW - design.coolerFallWPerK * Math.max(0, room - this.#fluidC))
    let wantedW = 0
    if (this.on) {
      wantedW = this.#controller.step(
        this.#targetC,
        this.#sensorC,
        design.lossWPerK * (this.#targetC - room) - design.stirrerW,
        { lowW: -coolerW, highW: design.heaterW },
        STEP_S,
      )
    }
    if (this.faults.has('runaway-heater')) wantedW = design.heaterW
    if (this.tripped) wantedW = Math.min(0, wantedW)
    this.powerW = wantedW

    const stirW = this.on ? design.stirrerW : 0
    this.#heatW += (wantedW - this.#heatW) * (1 - Math.exp(-STEP_S / design.heaterLagS))
    this.#fluidC +=
      ((this.#heatW + stirW - design.lossWPerK * (this.#fluidC - room)) * STEP_S) / design.capacityJPerK
    this.#drift.step()
    this.#flutter.step()
    const felt = this.#fluidC + this.#flutter.value
    const seen = felt + this.#sensorErrorK + this.#drift.value + this.#sensorKPerS * index * STEP_S
    this.#sensorC += (seen - this.#sensorC) * (1 - Math.exp(-STEP_S / design.sensorLagS))
    if (!this.on || Math.abs(this.#sensorC - this.setpointC) > 0.02) this.#lastFar = index
    this.temperature.push(index, felt)
    this.sensor.push(index, this.#sensorC)
  }

  #followRamp(): void {
    if (this.rampKPerMin <= 0) {
      this.#targetC = this.setpointC
      return
    }
    const most = (this.rampKPerMin / 60) * STEP_S
    const left = this.setpointC - this.#targetC
    this.#targetC += Math.min(most, Math.max(-most, left))
  }
}
