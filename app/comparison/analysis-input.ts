import type { Point } from '../records/point.ts'
import { Register } from '../records/register.ts'
import { type SessionEvent, type SessionInfo, SessionSetup } from '../records/session.ts'
import type { BudgetTemplate } from './uncertainty-template.ts'

/** What a session file holds, and the choices a laboratory makes about its reports. */
export interface AnalysisInput {
  readonly info: SessionInfo
  readonly setup: SessionSetup
  readonly points: readonly Point[]
  readonly events: readonly SessionEvent[]
  readonly options?: Partial<AnalysisOptions>
}

export interface AnalysisOptions {
  /** 0.9545 stands for exactly two standard deviations of the normal distribution. */
  readonly coverageProbability: number
  /** Step of the interpolation table, K. */
  readonly interpolationStepK: number
  /** Budget templates of the laboratory's own, which come before the program's. */
  readonly templates: readonly BudgetTemplate[]
  /** Largest number of Monte Carlo trials for one thermometer; 0 leaves JCGM 101 out. */
  readonly monteCarloTrials: number
  /** Degree of the polynomial for thermometers fitted by one. */
  readonly polynomialDegree: number
  /** Model to fit, by channel, where it is not the register's. */
  readonly models: Readonly<Record<string, 'its90' | 'callendar-van-dusen' | 'steinhart-hart' | 'polynomial'>>
}

export const DEFAULT_OPTIONS: AnalysisOptions = {
  coverageProbability: 0.9545,
  interpolationStepK: 10,
  templates: [],
  monteCarloTrials: 100_000,
  polynomialDegree: 2,
  models: {},
}

/** A point, or one channel of it, that a person has left out of the fits, and why. */
export interface LeftOut {
  readonly point: string
  readonly channel: string | null
  readonly who: string
  readonly why: string
  readonly utcUs: number
}

/** What was decided after the readings: which points do not count, which records were corrected, who signed. */
export interface Decisions {
  readonly setup: SessionSetup
  readonly leftOut: readonly LeftOut[]
  /** One entry for each amendment, oldest first. */
  readonly amendments: readonly {
    readonly who: string
    readonly why: string
    readonly utcUs: number
    readonly changes: readonly string[]
  }[]
  readonly signOff: { readonly who: string; readonly utcUs: number; readonly remark: string } | null
}

const text = (value: unknown): string => (typeof value === 'string' ? value : '')

type Lists = Record<keyof Register, { id: string }[]>

/** The register with the entries of an amendment in place of those with the same id. */
function amendedRegister(register: Register, change: unknown): { register: Register; changed: string[] } {
  const given = Register.partial().safeParse(change)
  if (!given.success) return { register, changed: [] }
  const next = { ...register } as Lists
  const changed: string[] = []
  const replacements = given.data as Partial<Lists>
  for (const key of Object.keys(register) as (keyof Register)[]) {
    const entries = Object.hasOwn(change as object, key) ? (replacements[key] ?? []) : []
    for (const entry of entries) {
      const others = next[key].filter(({ id }) => id !== entry.id)
      next[key] = [...others, entry]
      changed.push(entry.id)
    }
  }
  return { register: Register.parse(next), changed }
}

/**
 * Reads a session's events in order. `decision` events with `act: 'leave-out'` take a point (or one channel of it) out
 * or, with `restore`, bring it back; `amendment` events may carry corrected `register` entries and `job`; the last
 * `sign-off` counts unless an amendment came after it.
 */
export function decisionsOf(setup: SessionSetup, events: readonly SessionEvent[]): Decisions {
  let current = setup
  const leftOut = new Map<string, LeftOut>()
  const amendments: Decisions['amendments'][number][] = []
  let signOff: Decisions['signOff'] = null
  for (const event of events.toSorted((a, b) => a.n - b.n)) {
    const { data } = event
    if (event.kind === 'decision' && data.act === 'leave-out') {
      const channel = typeof data.channel === 'string' ? data.channel : null
      const key = `${text(data.point)}\u0000${channel ?? ''}`
      if (data.restore === true) leftOut.delete(key)
      else
        leftOut.set(key, {
          point: text(data.point),
          channel,
          who: event.who,
          why: text(data.why) || event.words,
          utcUs: event.utcUs,
        })
    }
    if (event.kind === 'amendment') {
      const { register, changed } = amendedRegister(current.register, data.register)
      const job = SessionSetup.shape.job.safeParse(data.job)
      current = { ...current, register, ...(job.success && job.data !== null && { job: job.data }) }
      amendments.push({
        who: event.who,
        why: text(data.why) || event.words,
        utcUs: event.utcUs,
        changes: [...changed, ...(job.success && job.data !== null ? ['job'] : [])],
      })
      signOff = null
    }
    if (event.kind === 'sign-off') signOff = { who: event.who, utcUs: event.utcUs, remark: text(data.remark) }
  }
  return { setup: current, leftOut: [...leftOut.values()], amendments, signOff }
}
