/** Uniform and normal numbers of one seeded sequence. */
export interface Random {
  /** In (0, 1), 53 bits, never 0 or 1. */
  uniform(): number
  /** Standard normal. */
  normal(): number
  /** 32 bits as they come, a whole number below 2³². */
  bits(): number
}

/**
 * The generator xoshiro128**, whose sequence of 2¹²⁸ − 1 passes the known batteries of tests.
 *
 * Two 32-bit outputs make one number of 53 bits. The state is filled from the seed by SplitMix32, so that
 * neighbouring seeds give unrelated sequences. Normal numbers are made by Marsaglia's polar method.
 *
 * Symbols  seed, any safe integer; uniform() in (0, 1); normal() mean 0, SD 1
 * Source   D. Blackman, S. Vigna, ACM Trans. Math. Softw. 47 (2021) 36 (xoshiro128**); G. Marsaglia,
 *          T. A. Bray, SIAM Review 6 (1964) 260 (polar method); both from memory. JCGM 101:2008, 6.5 and C.3
 *          (what is asked of a generator)
 * Valid    any seed
 * Throws   nothing
 */
export function seededRandom(seed: number): Random {
  let a = 0
  let b = 0
  let c = 0
  let d = 0
  let fill = (seed ^ Math.imul(Math.floor(seed / 4294967296), 0x85ebca6b)) | 0
  const mixed = () => {
    fill = (fill + 0x9e3779b9) | 0
    let z = fill ^ (fill >>> 16)
    z = Math.imul(z, 0x21f0aaad)
    z ^= z >>> 15
    z = Math.imul(z, 0x735a2d97)
    return z ^ (z >>> 15)
  }
  a = mixed()
  b = mixed()
  c = mixed()
  d = mixed() | 1
  const next = (): number => {
    const five = Math.imul(b, 5)
    const result = Math.imul((five << 7) | (five >>> 25), 9)
    const t = b << 9
    c ^= a
    d ^= b
    b ^= c
    a ^= d
    c ^= t
    d = (d << 11) | (d >>> 21)
    return result >>> 0
  }
  const uniform = () => ((next() >>> 5) * 67108864 + (next() >>> 6) + 0.5) / 9007199254740992
  let spare = Number.NaN
  const normal = (): number => {
    if (!Number.isNaN(spare)) {
      const held = spare
      spare = Number.NaN
      return held
    }
    for (;;) {
      const x = 2 * uniform() - 1
      const y = 2 * uniform() - 1
      const s = x * x + y * y
      if (s < 1 && s > 0) {
        const scale = Math.sqrt((-2 * Math.log(s)) / s)
        spare = y * scale
        return x * scale
      }
    }
  }
  return { uniform, normal, bits: next }
}
