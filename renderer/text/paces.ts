import { FASTEST_PACE, PRACTICE_PACE } from '../../app/contract/views.ts'

const PACES = [1, 10, PRACTICE_PACE, 350, FASTEST_PACE]
const paceName = (pace: number): string =>
  pace >= FASTEST_PACE
    ? 'As fast as it can'
    : pace === 1
      ? 'With the wall clock'
      : `${pace} times the wall clock`

/** Paces that a practice station can be set to, and the one it has. */
export const paceChoices = (now: number): { id: string; name: string }[] =>
  [...new Set([...PACES, now])]
    .toSorted((a, b) => a - b)
    .map((pace) => ({ id: String(pace), name: paceName(pace) }))
