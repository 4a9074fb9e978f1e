const FIRST_MS = 200
const LONGEST_MS = 800

/**
 * Wait before attempt `n` (0, 1, 2 ...) to connect again: doubles from 0.2 s to 0.8 s, spread by a quarter so that
 * instruments lost together do not all come back together. It grows no further: whoever puts the right instrument back has
 * it taken within a second.
 */
export function backoffMs(attempt: number, random: () => number): number {
  const doubled = Math.min(LONGEST_MS, FIRST_MS * 2 ** Math.min(attempt, 16))
  return Math.round(doubled * (0.75 + 0.25 * random()))
}
