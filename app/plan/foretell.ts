import { first } from '../base/lists.ts'
import { decimalsOfU } from '../base/rounding.ts'
import { duration } from '../base/times.ts'
import type { Foretold } from '../contract/studies.ts'
import { kindOf } from '../kinds/table.ts'
import type { Plan } from '../records/plan.ts'
import { analyse, type ThermometerResult } from '../results/analysis.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { surveysOf } from '../results/uniformity.ts'
import { estimatePlan } from './estimate.ts'
import { type ImaginedFrom, imaginedSession } from './imagined.ts'
import { paceOf } from './night-pace.ts'
import { type PlanChange, planChanges } from './plan-changes.ts'
import { standardReferences } from './standard-reference.ts'

/** Components named of a budget. */
const NAMED = 3
/** A change of U by less than this part is none. */
const GAIN_PART = 0.05

type Result = Foretold['results'][number]

/** U of the curve of every thermometer at the setpoints of its plan. */
function resultOf({ record, fit, refusal }: ThermometerResult, setpoints: readonly number[]): Result {
  const { channel, thermometer } = record
  const named = { channel: channel.id, name: thermometer.name }
  if (!fit) return { ...named, refusal: refusal ?? 'There is no point with this thermometer.', at: [] }
  return {
    ...named,
    refusal: null,
    at: setpoints.map((celsius) => {
      const { u, k, expanded, lines } = fit.atTemperature(celsius)
      return {
        celsius,
        expandedMk: expanded,
        k,
        most: lines
          .filter((l) => l.u > 0)
          .slice(0, NAMED)
          .map((l) => ({ name: l.name, part: (l.u / u) ** 2 })),
      }
    }),
  }
}

function resultsOf(from: ImaginedFrom): Result[] {
  const { input, without } = imaginedSession(from)
  const setpoints = [...new Set(from.plan.setpoints.map((s) => s.celsius))].toSorted((a, b) => a - b)
  const unknown = new Set(without.map((c) => c.id))
  return analyse(input).thermometers.map((t) =>
    unknown.has(t.record.channel.id)
      ? { ...resultOf(t, []), refusal: 'Nothing is known yet of how its signal goes with temperature.' }
      : resultOf(t, setpoints),
  )
}

const worst = ({ at }: Result): number => Math.max(...at.map((a) => a.expandedMk))

/** Both to the places of the smaller one. */
function fromTo(fromMk: number, toMk: number): string {
  const decimals = Math.min(9, Math.max(decimalsOfU(fromMk), decimalsOfU(toMk)))
  return `${fromMk.toFixed(decimals)} to ${toMk.toFixed(decimals)} mK`
}

function lowerBy(
  from: ImaginedFrom,
  before: readonly Result[],
  change: PlanChange,
): Foretold['changes'][number] {
  const after = resultsOf({ ...from, plan: change.plan })
  const moved = before.flatMap((b) => {
    const a = after.find((r) => r.channel === b.channel)
    if (!a || a.at.length === 0 || b.at.length === 0) return []
    // At the temperatures of the plan as it stands: a point more is no excuse for a wider range.
    const same = a.at.filter(({ celsius }) => b.at.some((o) => o.celsius === celsius))
    const [fromMk, toMk] = [worst(b), worst({ ...a, at: same })]
    return Math.abs(toMk - fromMk) > GAIN_PART * fromMk
      ? [{ channel: b.channel, name: b.name, fromMk, toMk }]
      : []
  })
  const pace = paceOf(from.nights)
  const takesS = (plan: Plan) =>
    estimatePlan(plan, from.bench, first(plan.setpoints).celsius, pace).at(-1)?.endS ?? 0
  const moreS = Math.max(0, takesS(change.plan) - takesS(from.plan))
  const said = moved.map((m) => `${m.name} ${fromTo(m.fromMk, m.toMk)}`)
  return {
    id: change.id,
    moreS,
    moved,
    words: `${change.words}: ${said.length === 0 ? 'no gain' : said.join(', ')}${moreS >= 60 ? `; ${duration(moreS)} more` : ''}.`,
  }
}

const nights = (n: number) => (n === 1 ? 'one night' : `${n} nights`)

function restsOn({ nights: earlier, bench, register }: ImaginedFrom): string[] {
  const words =
    earlier.length === 0
      ? 'No night on this bench yet: how readings repeat is not known and not in these figures. They are the least that the register allows.'
      : `From the register and from ${nights(earlier.length)} on this bench.`
  const typed =
    bench.bath && surveysOf({ bench, register }).length === 0 && bench.bath.uniformityMk > 0
      ? ["The bath's uniformity is the figure typed on the bench; no survey stands behind it."]
      : []
  return [words, ...typed]
}

/**
 * What a plan's uncertainties will be, what they are made of, and what would lower them: by the analysis of a session as the
 * plan would leave it behind. Where a bench cannot be analysed (no reference, no certificate in force) it says so in `refusal`.
 */
export function foretell(from: ImaginedFrom): Foretold {
  try {
    const results = resultsOf(from)
    const changes = planChanges(from.plan, facesOf(from)).map((change) => lowerBy(from, results, change))
    return { nights: from.nights.length, refusal: null, results, changes, remarks: restsOn(from) }
  } catch (fault) {
    if (!(fault instanceof ComparisonError)) throw fault
    return { nights: from.nights.length, refusal: fault.message, results: [], changes: [], remarks: [] }
  }
}

/** What of a bench decides which changes of a plan are worth a look. */
function facesOf({ bench, register, date, nights: earlier }: ImaginedFrom) {
  const hung = bench.channels.filter((c) => c.enabled && c.role !== 'monitor' && c.thermometer !== undefined)
  const of = (id: string | undefined) => register.thermometers.find((t) => t.id === id)
  return {
    thermometers: hung.length,
    repeatabilityKnown: earlier.length > 0,
    hasResistance: hung.some((c) => {
      const found = of(c.thermometer)
      return c.role === 'under-test' && found !== undefined && kindOf(found).signal === 'resistance'
    }),
    hasStandardReference: standardReferences(bench, register, date).length > 0,
  }
}
