import type { Plateau } from './fixed-point-plateau.ts'

/** What is said of a plateau while it happens. */
export interface PlateauProgress {
  readonly phase: 'on' | 'over'
  readonly words: string
}

/** A record that is this much younger than the end of a plateau is still on it, s. */
const STILL_ON_S = 120
/** Whether the newest reading of a record, `lastS`, is still on its plateau. */
export const isOnPlateau = ({ toS }: Pick<Plateau, 'toS'>, lastS: number): boolean =>
  lastS - toS <= STILL_ON_S

const minutes = (seconds: number) => `${Math.max(0, Math.round(seconds / 60))} min`

/**
 * How a plateau stands at the newest reading of a record: since when it is on, how long, its slope; or that it has run off.
 * `lastS`: time of the newest reading, s.
 */
export function plateauProgress(plateau: Plateau, lastS: number): PlateauProgress {
  const lengthS = plateau.toS - plateau.fromS
  const slope = `${plateau.driftMkPerHour >= 0 ? '+' : ''}${plateau.driftMkPerHour.toFixed(2)} mK/h`
  const sinceS = lastS - plateau.toS
  if (isOnPlateau(plateau, lastS)) {
    return {
      phase: 'on',
      words: `On the plateau for ${minutes(lengthS)}, slope ${slope}. The value comes from its trusted part; let it run on.`,
    }
  }
  return {
    phase: 'over',
    words: `The plateau lasted ${minutes(lengthS)}, slope ${slope}, and has run off since ${minutes(sinceS)}.`,
  }
}
