import { z } from 'zod'
import { RUNNER_PHASES } from '../../app/contract/views.ts'
import { SESSION_ENDINGS } from '../../app/records/session.ts'

/**
 * Where a plan stands. Stored in the same transaction as what led to it, and always before it is acted upon, so that
 * whoever opens the session next knows what was about to happen.
 */
export const RunnerState = z.strictObject({
  version: z.literal(1),
  phase: z.enum(RUNNER_PHASES),
  /** Which part of the night: the check of R(WTP) before, the setpoints, the check after. */
  part: z.enum(['wtp-before', 'setpoints', 'wtp-after']),
  /** Setpoint under way, counted from 0. */
  step: z.int(),
  /** Phase to go back to from a pause. */
  pausedFrom: z.enum(RUNNER_PHASES).nullable(),
  phaseSinceUtcUs: z.int(),
  /** Session's own count, us, at which the bath was aimed at this setpoint: windows begin there. */
  aimedMonoUs: z.int(),
  /** How long this setpoint may be waited for, s, and how long has been waited in earlier lives of the core. */
  waitS: z.number(),
  waitedS: z.number(),
  extended: z.int(),
  /** Times this point was taken and not found good. */
  retakes: z.int(),
  /** What the night has to say for itself: any makes it complete with marks at best. */
  marks: z.array(z.string()),
  /** Point ids so far. */
  points: z.array(z.string()),
  /** Why it is being stopped, and by whom: null while it is not. */
  stopping: z
    .strictObject({ by: z.enum(['station', 'person']), who: z.string(), reason: z.string() })
    .nullable(),
  /** Points are to be taken as they are: settling was overruled. */
  takeNow: z.strictObject({ who: z.string(), why: z.string() }).nullable(),
  ending: z.enum(SESSION_ENDINGS).nullable(),
  endingReason: z.string().nullable(),
})
export type RunnerState = z.output<typeof RunnerState>

/** What is under way, as a sentence goes on with it: 'the bath is being set the bath'. */
export const PHASE_WORDS: Readonly<Record<RunnerState['phase'], string>> = {
  idle: 'nothing is running',
  opening: 'the links are being opened',
  checking: 'the water triple point is being checked',
  setting: 'the bath is being set',
  waiting: 'the bath is settling',
  measuring: 'a point is being taken',
  paused: 'the plan is paused',
  finishing: 'the plan is finishing',
  stopping: 'the plan is being stopped',
  ended: 'the plan has ended',
}

export function firstState(utcUs: number): RunnerState {
  return {
    version: 1,
    phase: 'opening',
    part: 'wtp-before',
    step: 0,
    pausedFrom: null,
    phaseSinceUtcUs: utcUs,
    aimedMonoUs: 0,
    waitS: 0,
    waitedS: 0,
    extended: 0,
    retakes: 0,
    marks: [],
    points: [],
    stopping: null,
    takeNow: null,
    ending: null,
    endingReason: null,
  }
}
