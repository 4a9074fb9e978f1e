const FIRST_MS = 200
const LONGEST_MS = 800
/** After about an hour nobody stands beside it waiting. */
const MANY = 4_500
const LATER_MS = 5_000

/**
 * Wait before attempt `n` (0, 1, 2 ...) to connect again: doubles from 0.2 s to 0.8 s, spread by a quarter so that
 * instruments lost together do not all come back together. For an hour it grows no further, so that an instrument that is put
 * back is taken within a second; then it is 5 s.
 */
export function backoffMs(attempt: number, random: () => number): number {
  const doubled = attempt > MANY ? LATER_MS : Math.min(LONGEST_MS, FIRST_MS * 2 ** Math.min(attempt, 16))
  return Math.round(doubled * (0.75 + 0.25 * random()))
}
