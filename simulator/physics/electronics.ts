import type { RandomStream } from './randomness.ts'

export interface RatioElectronicsDesign {
  /** Noise of one single measurement referred to the input, V. */
  noiseV: number
  /** Standard deviation of the linearity error over the range, in ratio. */
  linearityRatio: number
  resolutionRatio: number
  highestRatio: number
}

/** Ratio of two resistances as one bridge sees it: its own fixed nonlinearity, noise that a larger current lowers, steps. */
export class RatioElectronics {
  readonly design: RatioElectronicsDesign
  readonly #waves: { amplitude: number; perRatio: number; phase: number }[]
  readonly #stream: RandomStream

  constructor(design: RatioElectronicsDesign, stream: RandomStream) {
    this.design = design
    this.#stream = stream
    // Three slow waves of random amplitude and phase: at any ratio, over many bridges, normal with the stated deviation.
    this.#waves = [0.31, 0.83, 1.9].map((cycles) => ({
      amplitude:
        design.linearityRatio *
        Math.sqrt(2 / 3) *
        Math.hypot(stream.normal(), stream.normal()) *
        Math.SQRT1_2,
      perRatio: 2 * Math.PI * cycles,
      phase: 2 * Math.PI * stream.uniform(),
    }))
  }

  nonlinearity(ratio: number): number {
    let sum = 0
    for (const { amplitude, perRatio, phase } of this.#waves)
      sum += amplitude * Math.sin(perRatio * ratio + phase)
    return sum
  }

  /** What is shown for a true ratio; `singles` measurements are averaged; the current and Rs set the noise. */
  indicate(ratio: number, singles: number, currentA: number, rsOhm: number): number {
    const noise = (this.design.noiseV / (currentA * rsOhm) / Math.sqrt(singles)) * this.#stream.normal()
    const raw = ratio + this.nonlinearity(ratio) + noise
    return Math.round(raw / this.design.resolutionRatio) * this.design.resolutionRatio
  }
}

/** Noise and gain error of a meter's range: `value` in the unit of the range. */
export class MeterElectronics {
  readonly #gain: number
  readonly #offset: number
  readonly #stream: RandomStream

  /** `beyond`: gain and offset that no paper tells of. */
  constructor(
    stream: RandomStream,
    gainDeviation: number,
    offsetDeviation: number,
    beyond: { readonly gain: number; readonly offset: number } = { gain: 0, offset: 0 },
  ) {
    this.#gain = gainDeviation * stream.normal() + beyond.gain
    this.#offset = offsetDeviation * stream.normal() + beyond.offset
    this.#stream = stream
  }

  indicate(value: number, noise: number, singles: number): number {
    return value * (1 + this.#gain) + this.#offset + (noise / Math.sqrt(singles)) * this.#stream.normal()
  }
}
