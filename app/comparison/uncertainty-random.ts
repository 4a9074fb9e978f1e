/** Seeded random draws for the propagation of distributions: the same seed gives the same report, digit by digit. */
export interface Draws {
  /** Uniform in (0, 1), 32 bits. */
  uniform(): number
  /** Standard normal. */
  normal(): number
  /** Student's t with `dof` degrees of freedom. */
  t(dof: number): number
}

/** Seed from a text, FNV-1a over its UTF-16 units. */
export function seedOf(text: string): number {
  let hash = 0x811c9dc5
  for (let i = 0; i < text.length; i++) {
    hash ^= text.charCodeAt(i)
    hash = Math.imul(hash, 0x01000193)
  }
  return hash >>> 0
}

/** sfc32 (public domain, part of PractRand), its state filled from the seed; normals by the polar method of Marsaglia. */
export function draws(seed: number): Draws {
  let a = seed | 0
  let b = 0x9e3779b9 | 0
  let c = 0x243f6a88 | 0
  let counter = 1
  const next = () => {
    const sum = (((a + b) | 0) + counter) | 0
    counter = (counter + 1) | 0
    a = b ^ (b >>> 9)
    b = (c + (c << 3)) | 0
    c = (((c << 21) | (c >>> 11)) + sum) | 0
    return sum >>> 0
  }
  for (let i = 0; i < 16; i++) next()
  const uniform = () => (next() + 0.5) / 4_294_967_296
  let spare: number | null = null
  const normal = () => {
    if (spare !== null) {
      const kept = spare
      spare = null
      return kept
    }
    for (;;) {
      const x = 2 * uniform() - 1
      const y = 2 * uniform() - 1
      const s = x * x + y * y
      if (s >= 1 || s === 0) continue
      const factor = Math.sqrt((-2 * Math.log(s)) / s)
      spare = y * factor
      return x * factor
    }
  }
  /** Gamma(shape, 1), shape >= 1/2; Marsaglia and Tsang, ACM TOMS 26 (2000) 363 (from memory). */
  const gamma = (shape: number): number => {
    if (shape < 1) return gamma(shape + 1) * uniform() ** (1 / shape)
    const d = shape - 1 / 3
    const k = 1 / Math.sqrt(9 * d)
    for (;;) {
      const x = normal()
      const v = (1 + k * x) ** 3
      if (v > 0 && Math.log(uniform()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v
    }
  }
  return {
    uniform,
    normal,
    t: (dof) => (Number.isFinite(dof) ? normal() / Math.sqrt((2 * gamma(dof / 2)) / dof) : normal()),
  }
}
