import { isDamage } from './errors.ts'
import { type LostStretch, readingPages } from './pages.ts'
import type { SessionFile } from './session-file.ts'

export interface Survey {
  readable: number
  lost: LostStretch[]
  /** What cannot be read any more, each in a sentence; empty where everything can. */
  words: string[]
}

/** Looks through all of a damaged session and tells what is lost. Takes as long as reading it does. */
export function surveySession(file: SessionFile): Survey {
  const lost: LostStretch[] = []
  let readable = 0
  for (const page of readingPages(file)) {
    readable += page.readings.length
    for (const stretch of page.lost) {
      const last = lost.at(-1)
      if (last && last.toSeq === stretch.fromSeq - 1) last.toSeq = stretch.toSeq
      else lost.push({ ...stretch })
    }
  }
  const words = [...file.damage, ...lost.map(lostWords)]
  const parts: [string, () => unknown][] = [
    ['The events', () => file.events()],
    ['The points', () => file.points()],
    ['The last state of the plan', () => file.runnerState()],
  ]
  for (const [what, read] of parts)
    try {
      read()
    } catch (fault) {
      if (!isDamage(fault) && !(fault instanceof SyntaxError)) throw fault
      words.push(`${what} cannot all be read any more.`)
    }
  return { readable, lost, words }
}

export const lostWords = ({ fromSeq, toSeq }: LostStretch) =>
  fromSeq === toSeq
    ? `Reading ${fromSeq} cannot be read any more.`
    : `Readings ${fromSeq} to ${toSeq} cannot be read any more.`
