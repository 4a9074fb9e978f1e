import type { PlanHelp, PlanPreview } from '../contract/studies.ts'
import type { Bench } from '../records/bench.ts'
import type { Plan } from '../records/plan.ts'
import type { RawUnit } from '../records/reading.ts'
import type { Register } from '../records/register.ts'
import type { Pace } from './estimate.ts'

export interface PreviewSource {
  readonly plan: Plan
  readonly bench: Bench
  readonly register: Register
  readonly date: string
  /** Setpoint limits of bath and fluid, with what sets the upper one; absent: no bath on the bench. */
  readonly limits: { readonly lowC: number; readonly highC: number; readonly because: string } | undefined
  readonly fromC: number
  readonly freeBytes: number | undefined
  readonly pace?: Pace
  /** Records of the bench that are at work on another one, by id, in words. */
  readonly elsewhere?: Readonly<Record<string, string>>
  /** Unit that each instrument of the bench measures in, by bench id, where its profile says. */
  readonly units?: Readonly<Record<string, RawUnit>>
}

export type Check = PlanPreview['checks'][number]

export const BENCH: PlanHelp = { kind: 'go', place: 'bench' }
export const REGISTER: PlanHelp = { kind: 'go', place: 'register' }
export const leaveOut = (celsius: number): PlanHelp => ({ kind: 'leave-out', celsius })

type Maker = (id: string, words: string, remedy: string, help?: PlanHelp) => Check
const maker =
  (severity: Check['severity']): Maker =>
  (id, words, remedy, help) => ({ id, severity, words, remedy, ...(help ? { help } : {}) })
export const stop = maker('stop')
export const warning = maker('warning')
export const note = maker('note')
