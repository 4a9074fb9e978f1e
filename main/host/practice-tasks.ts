import type { Cancel } from '../store/thread-talk.ts'
import { type PracticeKind, type PracticeSessions, recordPractice } from './practice.ts'

/** Sessions to practise on, recorded by the lab in a box into a data folder. */
export const practiceTasks = {
  practise: (
    _: Cancel,
    what: PracticeKind,
    options: { seed: number; folder: string; nowUtcUs: number },
  ): Promise<PracticeSessions> => recordPractice(what, options),
}

export type PracticeTasks = typeof practiceTasks
