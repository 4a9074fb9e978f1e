import { coverageFactor } from '../statistics/coverage.ts'
import { normalQuantile } from '../statistics/normal.ts'
import type { Finding, Unmade } from './finding.ts'
import type { UniformityFacts } from './pair-facts.ts'
import { type Exchange, placesChanged, placesWide } from './places.ts'
import type { ReferenceSide } from './reference-side.ts'
import { scatterLimit, scatterTogether } from './residual-scatter.ts'
import type { ThermometerResult } from './result.ts'
import type { WtpComparison } from './wtp.ts'

/** What is known of a comparison beside its thermometers' own results. */
export interface Around {
  readonly references: readonly ReferenceSide[]
  readonly wtps: readonly (WtpComparison | null)[]
  readonly exchanges: readonly Exchange[]
  readonly hasSurvey: boolean
  readonly uniformity: UniformityFacts
}

/**
 * Chance with which each kind of check cries out in a quiet night, all its points and thermometers together, as far as its own
 * uncertainties hold; common practice, no source. What comes of it in nights of known truth stands in docs/hostile-2.md, case none.
 */
const FALSE_ALARM = 0.01
/** Thermometers that have to move together before anything is said of what they share. */
const LEAST_TOGETHER = 3
/** A shunt that brings more than this part of U is told of; common practice, no source. */
const SHUNT_PART = 1 / 3

const mk = (value: number) => `${value.toPrecision(2)} mK`
const listed = (names: readonly string[]) => [...new Set(names)].join(', ')

/** All that the readings of a comparison say against it. */
export function findingsOf(thermometers: readonly ThermometerResult[], around: Around): Finding[] {
  const common = commonModes(thermometers, around)
  const couples = thermometers.filter((t) => t.record.thermometer.kind === 'thermocouple').length
  return [
    ...disagreements(thermometers),
    ...around.references.flatMap((side, k) => ofWtp(side, around.wtps[k] ?? null)),
    ...common,
    ...ofPlaces(around),
    ...thermometers.flatMap((t) => [
      ...ofShunt(t),
      ...ofZeroVoltage(t, FALSE_ALARM / couples),
      ...ofScatter(t, FALSE_ALARM / 2 / thermometers.length),
    ]),
    ...ofScatterTogether(thermometers, FALSE_ALARM / 2),
  ]
}

function disagreements(thermometers: readonly ThermometerResult[]): Finding[] {
  const apart = thermometers.flatMap((t) =>
    t.points.filter((p) => p.included && p.pair.agreement && !p.pair.agreement.consistent),
  )
  const worst = apart.toSorted((a, b) => b.pair.disagreementMk - a.pair.disagreementMk)[0]
  if (!worst) return []
  const { references } = worst.pair.agreement!
  const says = references.map((r) => `${r.name} ${r.celsius.toFixed(4)} °C (u ${mk(r.uMk)})`).join(', ')
  return [
    {
      kind: 'references-disagree',
      points: [...new Set(apart.map((p) => p.pair.point))],
      channels: null,
      words:
        `The references do not agree at ${listed(apart.map((p) => p.pair.point))}: ${says} at ${worst.pair.point}. U covers all of them. ` +
        'Find out which one is wrong and leave it out at these points, or sign knowing it.',
    },
  ]
}

/**
 * Places that stand otherwise at one exchange than at another: the bath's gradient is not steady, with temperature or with time;
 * and places further apart than the bench or the survey says.
 */
function ofPlaces({ exchanges, uniformity }: Around): Finding[] {
  const findings: Finding[] = []
  const changed = placesChanged(exchanges, FALSE_ALARM)
  if (changed !== null)
    findings.push({
      kind: 'places-changed',
      points: null,
      channels: null,
      words: `The places of the bath changed by ${mk(changed)} from one exchange to another. Between them U was widened; if they turn with time and not with temperature, exchange more often or mend the stirring.`,
    })
  const wide = placesWide(exchanges, uniformity, FALSE_ALARM)
  if (wide)
    findings.push({
      kind: 'places-wide',
      points: null,
      channels: null,
      words:
        `At ${wide.celsius} °C the bath at ${wide.place} differs from ${wide.against} by ${mk(wide.offsetMk)} (u ${mk(wide.uMk)}), more than its stated uniformity explains ` +
        `(u ${mk(wide.statedMk)}; ${uniformity.source}). The exchange takes it off here; mend the stirring or the depths and enter a survey before that figure is used again.`,
    })
  return findings
}

/** R(WTP) of a reference: changed within the night, or moved since its last entry, by more than its limit allows. */
function ofWtp({ record }: ReferenceSide, found: WtpComparison | null): Finding[] {
  if (!found) return []
  const { name } = record.thermometer
  const findings: Finding[] = []
  const { changeMk, expandedChangeMk, sinceLast } = found
  const limit = record.thermometer.wtpLimitMk ?? 0
  if (found.changed && Math.abs(changeMk!) > limit) {
    findings.push({
      kind: 'reference-changed',
      points: null,
      channels: null,
      words: `R(0.01 °C) of ${name} changed by ${mk(changeMk!)} between before and after (U ${mk(expandedChangeMk!)}): it moved while the points were taken.`,
    })
  }
  if (sinceLast?.moved && Math.abs(sinceLast.differenceMk) > limit) {
    findings.push({
      kind: 'reference-moved',
      points: null,
      channels: null,
      words: `R(0.01 °C) of ${name} has moved by ${mk(sinceLast.differenceMk)} since ${sinceLast.date} (U ${mk(sinceLast.expandedMk)}). The value of this session was used; whether its coefficients still hold only a calibration can tell.`,
    })
  }
  return findings
}

/**
 * Residuals of all thermometers at a point, judged together: weighted by what is each one's own, against what they share.
 *
 *   m = sum(w_j r_j) / sum(w_j),  u^2(m) = mean(s_j^2) + 1 / sum(w_j),  w_j = 1 / o_j^2
 *
 * Symbols: r_j residuals, o_j and s_j their expected standard deviations, own and shared. Beyond the quantile of one false
 * alarm in a hundred nights the reference or the bath moved, not the thermometers. Source: common practice, no source.
 */
function commonModes(thermometers: readonly ThermometerResult[], around: Around): Finding[] {
  const ids = new Set(
    thermometers.flatMap((t) => t.points.filter((p) => p.included && !p.pair.cell).map((p) => p.pair.point)),
  )
  const limit = normalQuantile(1 - FALSE_ALARM / 2 / Math.max(1, ids.size))
  return [...ids].flatMap((point): Finding[] => {
    const together = thermometers.flatMap((t) => {
      const i = t.fit?.pairs.findIndex((p) => p.point === point) ?? -1
      if (!t.fit || i < 0) return []
      const { sharedMk, ownMk } = t.fit.expectedResidual(i)
      const found = t.points.find((p) => p.pair.point === point)!
      return [
        { name: t.record.thermometer.name, r: found.residualMk, sharedMk, w: 1 / Math.max(1e-6, ownMk) ** 2 },
      ]
    })
    if (together.length < LEAST_TOGETHER) return []
    const total = together.reduce((sum, t) => sum + t.w, 0)
    const mean = together.reduce((sum, t) => sum + (t.w / total) * t.r, 0)
    const shared = together.reduce((sum, t) => sum + t.sharedMk ** 2, 0) / together.length
    if (Math.abs(mean) <= limit * Math.sqrt(shared + 1 / total)) return []
    return [
      {
        kind: 'common-mode',
        points: [point],
        channels: null,
        words: `At ${point} ${together.length} thermometers moved by ${mk(mean)} together: ${whichMoved(around)}.`,
      },
    ]
  })
}

/** What moved, where R(WTP) or a second reference can tell. */
function whichMoved({ references, wtps }: Around): string {
  if (wtps.some((w) => w?.changed)) return 'the reference moved, as its R(0.01 °C) shows'
  if (wtps.some((w) => w !== null && w.changeMk !== null))
    return 'the bath moved, since R(0.01 °C) of the reference is the same before and after'
  if (references.length > 1)
    return 'the references agree or not as it is said of them; if they agree, the bath moved'
  return 'the reference or the bath moved; R(0.01 °C) after the night or a second reference would tell which'
}

function ofShunt({ record, points }: ThermometerResult): Finding[] {
  const hit = points.filter(({ budget }) => {
    const line = budget.lines.find((l) => l.component === 'insulation')
    return line !== undefined && line.u * Math.sqrt(3) > SHUNT_PART * budget.expanded
  })
  if (hit.length === 0) return []
  return [
    {
      kind: 'insulation',
      points: hit.map((p) => p.pair.point),
      channels: [record.channel.id],
      words: `The insulation measured for ${record.thermometer.name} or its reference shunts it by more than a third of U at ${listed(hit.map((p) => p.pair.point))}. Dry it and measure again, or sign knowing it.`,
    },
  ]
}

/** A thermocouple with both junctions at 0 degC has no voltage: what its curve shows there is junction or meter. */
function ofZeroVoltage({ record, fit }: ThermometerResult, chance: number): Finding[] {
  if (record.thermometer.kind !== 'thermocouple' || !fit || fit.model.kind !== 'thermocouple') return []
  const atZero = fit.prepared.toTemperature(0).value * 1e3
  const { u, expanded, degreesOfFreedom } = fit.atTemperature(0)
  if (!(Math.abs(atZero) > coverageFactor(1 - chance, degreesOfFreedom) * u)) return []
  return [
    {
      kind: 'zero-voltage',
      points: null,
      channels: [record.channel.id],
      words: `The curve of ${record.thermometer.name} has no voltage at ${mk(atZero)}, not at 0 °C (U ${mk(expanded)}): its reference junction is not where the bench says, or the meter has an offset.`,
    },
  ]
}

/** What is beyond the budget by one chance in twenty widens U; what is beyond it by less than `chance` is told of. */
function ofScatter({ record, fit }: ThermometerResult, chance: number): Finding[] {
  if (!fit?.excess || fit.scatter.chiSquared <= scatterLimit(fit.scatter, chance)) return []
  return [
    {
      kind: 'scatter',
      points: null,
      channels: [record.channel.id],
      words: `The residuals of ${record.thermometer.name} (${mk(fit.residualMk)}) are larger than the budget explains (${mk(fit.expectedResidualMk)}). U was widened; look for what moved before it is signed.`,
    },
  ]
}

/** What no thermometer alone shows well enough: all of them scatter more than their budgets explain. */
function ofScatterTogether(thermometers: readonly ThermometerResult[], chance: number): Finding[] {
  const fits = thermometers.flatMap(({ fit }) => (fit && fit.scatter.freedom > 0 ? [fit] : []))
  if (fits.length < 2) return []
  const times = scatterTogether(
    fits.map(({ scatter }) => scatter),
    chance,
  )
  if (times <= 1) return []
  const mean = Math.sqrt(
    fits.reduce((sum, { scatter }) => sum + scatter.chiSquared, 0) /
      fits.reduce((sum, { scatter }) => sum + scatter.freedom, 0),
  )
  return [
    {
      kind: 'scatter',
      points: null,
      channels: null,
      words:
        `The residuals of all ${fits.length} thermometers together are ${mean.toPrecision(2)} times what their budgets explain: from point to point readings wander more than ` +
        'within a point. Look for mains pick-up, slow noise of the bridge or a bath that does not stand still before it is signed.',
    },
  ]
}

/** Which guided checks were not made, and what stands in their place. */
export function unmadeOf(thermometers: readonly ThermometerResult[], around: Around): Unmade[] {
  const unmade: Unmade[] = []
  const add = (check: Unmade['check'], words: string) => unmade.push({ check, words })
  const standard = around.references.filter((r) => r.record.calibration?.conversion.kind === 'its90')
  const both = (w: WtpComparison | null | undefined) => w?.changeMk !== null && w?.changeMk !== undefined
  const unseen = around.references.filter((r, k) => standard.includes(r) && !both(around.wtps[k]))
  const names = (list: readonly ThermometerResult[]) => listed(list.map((t) => t.record.thermometer.name))
  if (unseen.length > 0)
    add(
      'wtp',
      `R(0.01 °C) of ${listed(unseen.map((r) => r.record.thermometer.name))} was not measured before and after: whether it held is not known.`,
    )
  if (around.exchanges.length === 0 && !around.hasSurvey)
    add(
      'exchange',
      'The difference of the places in the bath was not measured: neither an exchange of places nor a survey; the figure is typed.',
    )
  const inBath = thermometers.filter((t) => t.fit !== null)
  const without = (of: (t: ThermometerResult) => boolean) => inBath.filter((t) => !of(t))
  const notLifted = without((t) => t.beside?.lift !== null && t.beside !== null)
  if (notLifted.length > 0)
    add(
      'lift',
      `${names(notLifted)}: not lifted to see the heat along the stem; the figure is common practice.`,
    )
  const oneWay = without((t) => t.beside !== null && hasBothWays(t))
  if (oneWay.length > 0)
    add(
      'first-again',
      `${names(oneWay)}: no temperature was visited again after the hottest; hysteresis is not measured.`,
    )
  const resistive = inBath.filter((t) => t.signalUnit === 'ohm')
  const uninsulated = resistive.filter((t) => t.beside?.insulationOhm === null)
  if (uninsulated.length > 0)
    add('insulation', `${names(uninsulated)}: insulation not measured; the budget has none for it.`)
  const unpaired = resistive.filter((t) => t.points.some((p) => !p.pair.underTest.from.startsWith('pair')))
  if (unpaired.length > 0)
    add('pairs', `${names(unpaired)}: self-heating not measured by pairs of currents in this session.`)
  return unmade
}

const hasBothWays = (t: ThermometerResult) => t.beside!.bothWays
