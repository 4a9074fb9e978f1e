/** Proportional, integral and derivative action on a bath's control sensor; gains in watt, kelvin and second. */
export interface ControllerGains {
  proportionalWPerK: number
  integralS: number
  derivativeS: number
  /** Beyond this error the integral holds the loss expected at the setpoint, so that a step does not wind it up, K. */
  approachK: number
}

export class BathController {
  readonly #gains: ControllerGains
  #integralW = 0
  #lastSensor: number | undefined
  #slope = 0

  constructor(gains: ControllerGains) {
    this.#gains = gains
  }

  reset(): void {
    this.#integralW = 0
    this.#lastSensor = undefined
    this.#slope = 0
  }

  /** Power asked for, W, positive to heat; limited to what heater and cooler can give. */
  step(
    setpoint: number,
    sensor: number,
    expectedLossW: number,
    limits: { lowW: number; highW: number },
    stepS: number,
  ): number {
    const { proportionalWPerK, integralS, derivativeS, approachK } = this.#gains
    const error = setpoint - sensor
    const slope = this.#lastSensor === undefined ? 0 : (sensor - this.#lastSensor) / stepS
    this.#lastSensor = sensor
    this.#slope += (slope - this.#slope) * Math.min(1, stepS / 4)
    const wished = proportionalWPerK * (error - derivativeS * this.#slope) + this.#integralW
    const given = Math.min(limits.highW, Math.max(limits.lowW, wished))
    if (Math.abs(error) > approachK) this.#integralW = expectedLossW
    else if (given === wished || Math.sign(error) !== Math.sign(wished - given)) {
      this.#integralW += (proportionalWPerK * error * stepS) / integralS
    }
    return given
  }
}
