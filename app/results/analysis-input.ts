import { z } from 'zod'
import type { Fit } from '../kinds/kind.ts'
import { SignerStatements } from '../records/certificate.ts'
import { AmendedCustomers, AmendmentTarget, decisionIn } from '../records/decision.ts'
import type { Point } from '../records/point.ts'
import { Register } from '../records/register.ts'
import { itemOf, type SessionEvent, type SessionInfo, SessionSetup, wishing } from '../records/session.ts'
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
  /** Parts into which the range is cut for the curve of U. */
  readonly bandSteps: number
  /** Budget templates of the laboratory's own, which come before the program's. */
  readonly templates: readonly BudgetTemplate[]
  /** Largest number of Monte Carlo trials for one thermometer; 0 leaves JCGM 101 out. */
  readonly monteCarloTrials: number
  /** Degree of the polynomial for thermometers fitted by one. */
  readonly polynomialDegree: number
  /** Which conformity is stated: what was asked for, or the narrowest class as in reports of before. */
  readonly judging: 'as-asked' | 'narrowest'
  /** Model to fit, by channel, where it is not the register's. */
  readonly models: Readonly<Record<string, Fit>>
}

export const DEFAULT_OPTIONS: AnalysisOptions = {
  coverageProbability: 0.9545,
  interpolationStepK: 10,
  bandSteps: 40,
  templates: [],
  monteCarloTrials: 1_000_000,
  polynomialDegree: 2,
  judging: 'as-asked',
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

/** A change after the readings: something left out or taken back in, a record corrected. */
export interface Change {
  readonly who: string
  readonly why: string
  readonly utcUs: number
  readonly what: string
}

/** One version of the report: what changed since the version before, and who signed it off. */
export interface ReportVersion {
  readonly version: number
  readonly changes: readonly Change[]
  readonly signOff: SignedOff | null
}

/** A sign-off: who, when, and what the signer stated; null: a sign-off of before statements were asked for. */
export interface SignedOff {
  readonly who: string
  readonly utcUs: number
  readonly remark: string
  readonly statements: SignerStatements | null
  /** Numbers that the certificates were given, by thermometer. */
  readonly numbers: Readonly<Record<string, string>>
  /** Whether the certificates are signed electronically as well. */
  readonly electronic: boolean
}

const GivenNumbers = z.record(z.string(), z.string())

/** What was decided after the readings: which points do not count, which records were corrected, who signed. */
export interface Decisions {
  /** The setup with the corrections of amendments in it. */
  readonly setup: SessionSetup
  readonly leftOut: readonly LeftOut[]
  /** Stretches of readings left out, by channel. */
  readonly leftOutReadings: readonly {
    readonly channel: string
    readonly fromSeq: number
    readonly toSeq: number
  }[]
  /** Oldest first; the last one is the report as it stands. */
  readonly versions: readonly ReportVersion[]
  readonly signOff: ReportVersion['signOff']
}

const text = (value: unknown): string => (typeof value === 'string' ? value : '')

type Lists = Record<Exclude<keyof Register, 'cells' | 'baths'>, { id: string }[]>

/** The register with the entries of an amendment in place of those with the same id. */
function amendedRegister(register: Register, change: unknown): { register: Register; changed: string[] } {
  const given = Register.partial().safeParse(change)
  if (!given.success || typeof change !== 'object' || change === null) return { register, changed: [] }
  const next: Lists = { ...register }
  const changed: string[] = []
  const replacements: { [K in keyof Lists]?: Lists[K] | undefined } = given.data
  for (const key of ['thermometers', 'resistors', 'instruments', 'fluids'] as const) {
    const entries = Object.hasOwn(change, key) ? (replacements[key] ?? []) : []
    for (const entry of entries) {
      // In the place of the old entry, so that nothing moves that was not changed.
      const at = next[key].findIndex(({ id }) => id === entry.id)
      next[key] = at < 0 ? [...next[key], entry] : next[key].with(at, entry)
      changed.push(entry.id)
    }
  }
  return { register: Register.parse(next), changed }
}

/** What an event leaves out or takes back in: the target of an amendment, or a decision taken at the points. */
function targetOf(event: SessionEvent): AmendmentTarget | undefined {
  if (event.kind === 'amendment') return AmendmentTarget.safeParse(event.data.target).data
  const decision = decisionIn(event)
  if (decision?.act !== 'leave-out') return undefined
  const { point, channel } = decision
  return { what: 'point', point, channel }
}

/** What a decision asks of the certificate of one item. */
function wishOf(event: SessionEvent) {
  const decision = decisionIn(event)
  return decision?.act === 'certificate-wish' ? decision : undefined
}

/**
 * Reads a session's events in order. An `amendment` may have a `target` that it leaves out (a point, one channel of
 * it, a stretch of readings) or, with `restore`, takes back in; it may carry corrected `register` entries and a `job`. A
 * `decision` with `act: 'leave-out'` does the same for a point; one with `act: 'certificate-wish'` says what an item's certificate holds.
 * A `sign-off` issues a version; the first amendment after it opens the next one.
 */
export function decisionsOf(setup: SessionSetup, events: readonly SessionEvent[]): Decisions {
  let current = setup
  const leftOut = new Map<string, LeftOut>()
  const readings = new Map<string, Decisions['leftOutReadings'][number]>()
  const versions: ReportVersion[] = [{ version: 1, changes: [], signOff: null }]
  const change = (event: SessionEvent, what: string) => {
    const last = versions.at(-1)!
    const entry = { who: event.who, why: text(event.data.why) || event.words, utcUs: event.utcUs, what }
    if (last.signOff) versions.push({ version: last.version + 1, changes: [entry], signOff: null })
    else versions[versions.length - 1] = { ...last, changes: [...last.changes, entry] }
  }
  for (const event of events.toSorted((a, b) => a.n - b.n)) {
    const { data } = event
    if (event.kind === 'sign-off') {
      const statements = SignerStatements.safeParse(data.statements).data ?? null
      const signOff = {
        who: event.who,
        utcUs: event.utcUs,
        remark: text(data.remark),
        statements,
        numbers: GivenNumbers.safeParse(data.certificates).data ?? {},
        electronic: data.electronic === true,
      }
      versions[versions.length - 1] = { ...versions.at(-1)!, signOff }
    }
    const target = targetOf(event)
    const wish = wishOf(event)
    if (wish && (current.job || itemOf(current, wish.thermometer))) {
      current = wishing(current, wish.thermometer, wish.wish)
      change(event, `certificate of ${wish.thermometer}`)
      continue
    }
    if (event.kind !== 'amendment' && !target) continue
    const done = data.restore === true ? 'taken back in' : 'left out'
    if (target?.what === 'point') {
      const { point, channel } = target
      const key = `${point}\u0000${channel ?? ''}`
      const why = text(data.why) || event.words
      if (data.restore === true) leftOut.delete(key)
      else leftOut.set(key, { point, channel: channel ?? null, who: event.who, why, utcUs: event.utcUs })
      change(event, `point ${point}${channel ? `, channel ${channel.toUpperCase()},` : ''} ${done}`)
    } else if (target) {
      const { channel, fromSeq, toSeq } = target
      const key = `${channel} ${fromSeq} ${toSeq}`
      if (data.restore === true) readings.delete(key)
      else readings.set(key, { channel, fromSeq, toSeq })
      change(event, `readings ${fromSeq} to ${toSeq} of channel ${channel.toUpperCase()} ${done}`)
    } else {
      const { register, changed } = amendedRegister(current.register, data.register)
      const customers = AmendedCustomers.safeParse(data.customers).data ?? {}
      const items = current.items?.map((item) => ({
        ...item,
        customer: customers[item.item] ?? item.customer,
      }))
      const job = SessionSetup.shape.job.safeParse(data.job)
      const withJob = job.success && job.data !== null
      current = { ...current, register, ...(items && { items }), ...(withJob && { job: job.data }) }
      change(
        event,
        [
          ...changed,
          ...new Set(Object.values(customers).map(({ name }) => name)),
          ...(withJob ? ['job'] : []),
        ].join(', ') || 'words',
      )
    }
  }
  return {
    setup: current,
    leftOut: [...leftOut.values()],
    leftOutReadings: [...readings.values()],
    versions,
    signOff: versions.at(-1)!.signOff,
  }
}

/** Why a point, or one channel of it, is left out; null where it counts. */
export function leftOutOf({ leftOut }: Decisions): (point: string, channel: string) => string | null {
  return (point, channel) =>
    leftOut.find((l) => l.point === point && (l.channel === null || l.channel === channel))?.why ?? null
}
