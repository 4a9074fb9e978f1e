import { utcDay } from '../../../app/base/times.ts'
import type { FixedPointName } from '../../../app/thermometry/fixed-points.ts'
import type { CellDraft } from './cells.model.ts'
import type { SessionChoice } from './sessions.connect.tsx'

/** Words in the name of a session that tell which cell it recorded. */
const WORDS: readonly (readonly [RegExp, FixedPointName])[] = [
  [/\b(wtp|water|h2o)\b/i, 'H2O'],
  [/\b(gallium|ga)\b/i, 'Ga'],
  [/\b(indium|in) cell\b|\bindium\b/i, 'In'],
  [/\b(tin|sn)\b/i, 'Sn'],
  [/\b(zinc|zn)\b/i, 'Zn'],
  [/\b(alumin(i)?um|al)\b/i, 'Al'],
  [/\b(silver|ag)\b/i, 'Ag'],
  [/\b(mercury|hg)\b/i, 'Hg'],
  [/\b(argon|ar)\b/i, 'Ar'],
]

/** The cell that a session's name speaks of, where it does. */
export function guessCell(name: string): { fixedPoint?: FixedPointName } {
  const found = WORDS.find(([words]) => words.test(name))
  return found ? { fixedPoint: found[1] } : {}
}

/**
 * Where to begin: the water triple point where the set has none yet, for the others are found with it; else the newest
 * session that speaks of a cell, else the newest.
 */
export function firstCell(sessions: readonly SessionChoice[], hasWater: boolean): CellDraft {
  const water = sessions.find(({ name }) => guessCell(name).fixedPoint === 'H2O')
  const cell = sessions.find(({ name }) => guessCell(name).fixedPoint)
  const session = (hasWater ? undefined : water) ?? cell ?? sessions[0]
  return {
    session: session?.id ?? '',
    channel: '',
    fixedPoint: guessCell(session?.name ?? '').fixedPoint ?? 'H2O',
    texts: {},
    heating: 'session',
    used: null,
  }
}

/** The day that a check made of a session's readings is of: that on which the session began; undefined where it is not listed. */
export function dayOfSession(
  sessions: readonly SessionChoice[],
  session: string | undefined,
): string | undefined {
  const own = sessions.find(({ id }) => id === session)
  return own && utcDay(own.startedUtcUs)
}
