/** A stream of random numbers that depends on the seed and its own name only, never on who else draws. */
export interface RandomStream {
  /** Uniform in [0, 1). */
  uniform(): number
  /** Standard normal. */
  normal(): number
  /** Whole number in [0, below). */
  integer(below: number): number
}

/** Spreads a text over 32 bits; different starts give unrelated values. */
function hash(text: string, start: number): number {
  let h = start ^ 0x9e3779b9
  for (let i = 0; i < text.length; i += 1) {
    h = Math.imul(h ^ text.charCodeAt(i), 0x85ebca6b)
    h = (h << 13) | (h >>> 19)
  }
  h = Math.imul(h ^ (h >>> 16), 0xc2b2ae35)
  return (h ^ (h >>> 15)) >>> 0
}

/** Small fast counting generator of 128 bits of state; period at least 2^32, passes the usual batteries. */
export function randomStream(seed: number, name: string): RandomStream {
  const key = `${seed}/${name}`
  let a = hash(key, 1)
  let b = hash(key, 2)
  let c = hash(key, 3)
  let counter = 1
  const next = (): number => {
    const t = (((a + b) | 0) + counter) | 0
    counter = (counter + 1) | 0
    a = b ^ (b >>> 9)
    b = (c + (c << 3)) | 0
    c = (c << 21) | (c >>> 11)
    c = (c + t) | 0
    return t >>> 0
  }
  for (let i = 0; i < 16; i += 1) next()
  const uniform = () => (next() >>> 0) / 4294967296
  let spare: number | undefined
  return {
    uniform,
    integer: (below) => Math.floor(uniform() * below),
    normal() {
      if (spare !== undefined) {
        const kept = spare
        spare = undefined
        return kept
      }
      let u: number
      let v: number
      let s: number
      do {
        u = 2 * uniform() - 1
        v = 2 * uniform() - 1
        s = u * u + v * v
      } while (s >= 1 || s === 0)
      const scale = Math.sqrt((-2 * Math.log(s)) / s)
      spare = v * scale
      return u * scale
    },
  }
}

/** A quantity that wanders about zero: stationary, normal, with the given standard deviation and memory. */
export class Wander {
  value: number
  readonly #sd: number
  readonly #keep: number
  readonly #kick: number
  readonly #stream: RandomStream

  constructor(stream: RandomStream, sd: number, timeConstantS: number, stepS: number) {
    this.#stream = stream
    this.#sd = sd
    this.#keep = Math.exp(-stepS / timeConstantS)
    this.#kick = sd * Math.sqrt(1 - this.#keep * this.#keep)
    this.value = sd * stream.normal()
  }

  step(): void {
    this.value = this.value * this.#keep + (this.#sd === 0 ? 0 : this.#kick * this.#stream.normal())
  }
}
