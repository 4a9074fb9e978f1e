export interface SelfHeating {
  /** What the measuring current itself adds to the signal, in the signal's unit, and its standard uncertainty. */
  readonly heatingAtCurrent: number
  readonly uHeatingAtCurrent: number
  /** The first and the last part at the low current agree within twice their uncertainty. */
  readonly steady: boolean
}

interface AtCurrent {
  readonly currentMa: number
  readonly signal: number
}

/**
 * Self-heating from a pair I1, I2, I1: R(0 mA) = R1 - I1^2 (R2 - R1) / (I2^2 - I1^2), R1 being the mean of the parts
 * before and after, so that a steady drift cancels. undefined where a part is missing.
 */
export function selfHeatingOf(readings: readonly AtCurrent[], currentMa: number): SelfHeating | undefined {
  const isHigh = (r: AtCurrent) => r.currentMa > currentMa * 1.05
  const firstHigh = readings.findIndex(isHigh)
  const lastHigh = readings.findLastIndex(isHigh)
  const before = part(readings.slice(0, Math.max(0, firstHigh)))
  const high = part(readings.filter(isHigh))
  const after = part(readings.slice(lastHigh + 1))
  if (!before || !high || !after || firstHigh < 0) return undefined
  const highMa = readings[firstHigh]!.currentMa
  const share = currentMa ** 2 / (highMa ** 2 - currentMa ** 2)
  const low = (before.mean + after.mean) / 2
  const uLow = Math.hypot(before.u, after.u) / 2
  const apart = Math.abs(before.mean - after.mean)
  return {
    heatingAtCurrent: share * (high.mean - low),
    uHeatingAtCurrent: share * Math.hypot(high.u, uLow),
    steady: apart <= 2 * Math.hypot(before.u, after.u) + Math.abs(share * (high.mean - low)) * 0.1,
  }
}

function part(readings: readonly AtCurrent[]): { mean: number; u: number } | undefined {
  const n = readings.length
  if (n === 0) return undefined
  const mean = readings.reduce((sum, r) => sum + r.signal, 0) / n
  if (n === 1) return { mean, u: 0 }
  const squares = readings.reduce((sum, r) => sum + (r.signal - mean) ** 2, 0)
  return { mean, u: Math.sqrt(squares / (n - 1) / n) }
}
