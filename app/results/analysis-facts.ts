import { bridgeInForce } from '../live/bridge-in-force.ts'
import type { SessionSetup } from '../records/session.ts'
import { welchSatterthwaite } from '../statistics/budget.ts'
import type { Prepared } from '../thermometry/convert.ts'
import { WTP_C } from '../thermometry/its90-reference.ts'
import { type ChannelRecord, zeroCurrentSignal } from './analysis-channel.ts'
import type { AnalysisInput, Decisions } from './analysis-input.ts'
import type { Pair } from './analysis-pairs.ts'
import { hysteresisOf, type Revisit } from './hysteresis.ts'
import { meterFacts } from './meter-accuracy.ts'
import type { LiftFacts, MeterFacts, PairFacts } from './pair-facts.ts'
import { rangesOf } from './profile-ranges.ts'
import {
  isCell,
  noise,
  type ReferenceSide,
  resistorFacts,
  scaleRelative,
  WTP_CELL_MK,
} from './reference-side.ts'
import { uniformityOf } from './uniformity.ts'
import { compareWtp, type WtpComparison } from './wtp.ts'

/** What was found out beside the points of one thermometer. */
export interface FoundBeside {
  readonly revisits: readonly Revisit[]
  readonly lift: LiftFacts | null
  readonly insulationOhm: number | null
}

/** What the records say of a comparison's bridges, resistors, bath and references, for the sources of error. */
export function factsOf(
  record: ChannelRecord,
  references: readonly ReferenceSide[],
  { setup }: Decisions,
  date: string,
  pairs: readonly Pair[],
  { revisits, lift, insulationOhm }: FoundBeside,
): PairFacts {
  const { bath } = setup.bench
  const celsius = pairs.map((p) => p.referenceC)
  const { junction } = record.channel
  return {
    references: references.map(({ facts }) => facts),
    bridge: bridgeInForce(record.instrument, date),
    resistor: resistorFacts(record),
    uniformity: uniformityOf(setup, date),
    bathStabilityMk: bath?.stabilityMk ?? 0,
    underTestJunctionMk: junction?.uK === undefined ? null : junction.uK * 1e3,
    hysteresis: hysteresisOf(revisits),
    lift,
    insulationOhm,
    meter: meterOf(record, setup, pairs[0]?.underTestAt.rawUnit ?? '', date),
    spanK: Math.max(...celsius) - Math.min(...celsius),
    excess: null,
  }
}

/**
 * The accuracy of what reads a channel. A bridge whose linearity the register states has that as a component of its own; one of
 * which it says nothing has what its profile states of the ratio.
 */
function meterOf(
  record: ChannelRecord,
  setup: SessionSetup,
  rawUnit: string,
  date: string,
): MeterFacts | null {
  const stated = rangesOf(record.channel, setup)
  if (rawUnit !== 'ratio') return meterFacts(record.instrument, rawUnit, stated, rawUnit === 'V' ? 1e-3 : 1)
  if (!record.resistor || bridgeInForce(record.instrument, date)) return null
  return meterFacts(null, rawUnit, stated, 1 / record.resistor.value.ohm)
}

/** R(WTP) of a channel as the session measured it, against the register; null where it was not measured or has no resistance. */
export function wtpOf(
  record: ChannelRecord,
  near: Prepared,
  input: AnalysisInput,
  fraction: number,
  date: string,
): WtpComparison | null {
  if (near.signal !== 'resistance') return null
  const slope = near.toSignal(WTP_C)
  const perRelative = Math.abs(slope.value / slope.dValueDInput) * 1e3
  const measurements = input.points.filter(isCell).flatMap((point) => {
    const at = point.channels.find((c) => c.channel === record.channel.id)
    const zero = at && zeroCurrentSignal(point, at, record, input.points, () => slope.dValueDInput, fraction)
    if (!at || !zero) return []
    const resolution = bridgeInForce(record.instrument, date)?.uResolutionRatio ?? 0
    const resolutionMk = at.rawUnit === 'ratio' ? (resolution / at.rawMean) * perRelative : 0
    const repeats = noise(at, perRelative)
    // The register's self-heating is the same error in every measurement of the thermometer; pairs were measured here.
    const pairsMk = zero.from === 'register' ? 0 : zero.uMk
    const uMk = Math.hypot(repeats.mk, resolutionMk, WTP_CELL_MK, pairsMk)
    const parts = [
      { u: repeats.mk, degreesOfFreedom: repeats.dof },
      { u: pairsMk, degreesOfFreedom: zero.dof },
      { u: Math.hypot(resolutionMk, WTP_CELL_MK), degreesOfFreedom: Number.POSITIVE_INFINITY },
    ]
    return [
      {
        point: point.id,
        when: point.kind === 'wtp-before' ? ('before' as const) : ('after' as const),
        ohm: zero.signal,
        uOhm: (uMk / perRelative) * zero.signal,
        dof: welchSatterthwaite(uMk, parts),
      },
    ]
  })
  const first = measurements[0]
  return first
    ? compareWtp(measurements, record.wtp, perRelative, scaleRelative(record, first.ohm, date))
    : null
}
