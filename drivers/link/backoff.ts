const FIRST_MS = 500
const LONGEST_MS = 30_000

/**
 * Wait before attempt `n` (0, 1, 2 ...) to connect again: doubles from 0.5 s to 30 s, spread by a quarter either way so
 * that instruments lost together do not all come back together.
 */
export function backoffMs(attempt: number, random: () => number): number {
  const doubled = Math.min(LONGEST_MS, FIRST_MS * 2 ** Math.min(attempt, 16))
  const spread = doubled * (0.75 + 0.5 * random())
  return Math.round(Math.min(LONGEST_MS, Math.max(FIRST_MS, spread)))
}
