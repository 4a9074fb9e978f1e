import { STEP_S, Trace } from './grid.ts'
import { type RandomStream, Wander } from './randomness.ts'

/** The laboratory's air: held near 23 degC, 45 % and the day's pressure, wandering over hours. */
export class Ambient {
  readonly temperature = new Trace(23)
  readonly humidity = new Trace(45)
  readonly pressure = new Trace(1013.25)
  readonly #temperature: Wander
  readonly #humidity: Wander
  readonly #pressure: Wander

  constructor(stream: RandomStream) {
    this.#temperature = new Wander(stream, 0.25, 5400, STEP_S)
    this.#humidity = new Wander(stream, 2.5, 7200, STEP_S)
    this.#pressure = new Wander(stream, 6, 40_000, STEP_S)
  }

  step(index: number): void {
    this.#temperature.step()
    this.#humidity.step()
    this.#pressure.step()
    const daily = 0.3 * Math.sin((2 * Math.PI * index * STEP_S) / 86_400)
    this.temperature.push(index, 23 + daily + this.#temperature.value)
    this.humidity.push(index, 45 + this.#humidity.value)
    this.pressure.push(index, 1013.25 + this.#pressure.value)
  }
}
