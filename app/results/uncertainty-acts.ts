import { at } from '../base/lists.ts'
import { type BridgeInForce, bridgeLinearityAt } from '../live/bridge-in-force.ts'
import type { Acts } from './acts.ts'
import { betweenTemperatures } from './between.ts'
import { SEEN } from './hysteresis.ts'
import type {
  LiftFacts,
  PairFacts,
  PairPoint,
  ReferenceFacts,
  ReferencePoint,
  ResistorFacts,
} from './pair-facts.ts'
import { placeActs, referenceNoiseActs, stabilityActs, underTestNoiseActs } from './uncertainty-places.ts'
import { HALF_WIDTH_DIVISOR, type TemplateComponent } from './uncertainty-template.ts'

/** Standard uncertainty of a `fixed` component at a temperature, mK. */
export function fixedMk(component: TemplateComponent, celsius: number): number {
  const size = betweenTemperatures(component.values!, 'mk', celsius)
  const { distribution } = component
  return distribution === 'normal' || distribution === 't' ? size : size / HALF_WIDTH_DIVISOR[distribution]
}

/** Square of the ratio below which a stated uncertainty counts as that of the coefficients, rounded. */
const ROUNDED = 1.02

const PAIRS_SOURCE = 'pairs of currents I and sqrt(2) I in this session: scatter of the pairs'
const SESSION_WTP_SOURCE =
  'R(0.01 °C) measured in this session: its scatter, and of the cell 0.1 mK, common practice, no source'
const VISITS_SOURCE = 'visits of one temperature on the way up and on the way down in this session'
const JUNCTION_SOURCE = 'bench: uncertainty of the reference junction of the channel'

/**
 * A relative error of the signals of some references. That of the first is kept as such; what the error of another does is
 * a change of temperature by its weight.
 */
function onReferences(
  points: readonly PairPoint[],
  relative: (k: number, at: ReferencePoint, p: PairPoint) => number,
): Required<Pick<Acts, 'referenceRelative' | 'temperatureMk'>> {
  const act = (p: PairPoint, k: number, at: ReferencePoint) => relative(k, at, p) * at.weight
  return {
    referenceRelative: points.map((p) => (p.references[0] ? act(p, 0, p.references[0]) : 0)),
    temperatureMk: points.map((p) =>
      p.references.slice(1).reduce((total, at, i) => total + act(p, i + 1, at) * at.mkPerRelative, 0),
    ),
  }
}

/** Degrees of freedom of self-heating by point (absent: it has no part there), and where pairs of currents told it everywhere what follows. */
function ofPairs(
  dof: readonly (number | undefined)[],
): Pick<Acts, 'degreesOfFreedom' | 'source' | 'distribution'> {
  const everywhere = dof.every((d) => d === undefined || Number.isFinite(d))
  return {
    degreesOfFreedom: dof.map((d) => d ?? Number.POSITIVE_INFINITY),
    // A scatter of few pairs is itself uncertain: JCGM 101:2008, 6.4.9.
    ...(everywhere && { source: PAIRS_SOURCE, distribution: 't' }),
  }
}

/** A change of temperature of one reference, mK, by its weight in the points. */
const onTemperature = (
  points: readonly PairPoint[],
  k: number,
  mk: (at: ReferencePoint, p: PairPoint) => number,
): number[] =>
  points.map((p) => {
    const at = p.references[k]
    return p.cell || !at ? 0 : at.weight * mk(at, p)
  })

/**
 * The calibration of one reference. Its coefficients' covariance, where it is stated, tells how errors at different
 * temperatures hang together; only what the certificate states beyond it is correlated as the template says.
 */
function calibrationActs(points: readonly PairPoint[], facts: ReferenceFacts, k: number): Acts[] {
  const modes = points.map((p) => (p.cell ? [] : facts.calibrationModesMk(p.referenceC)))
  const count = Math.max(0, ...modes.map((m) => m.length))
  const weighted = (mk: (own: readonly number[], p: PairPoint) => number) =>
    points.map((p, i) => {
      const reference = p.references[k]
      return reference ? reference.weight * mk(modes[i]!, p) : 0
    })
  const beyond = (own: readonly number[], p: PairPoint) => {
    const stated = facts.calibrationMk(p.referenceC)
    const explained = Math.hypot(...own)
    // The figures of a certificate are rounded: a hundredth of a part is no component of its own.
    return stated * stated > explained * explained * ROUNDED ? Math.sqrt(stated ** 2 - explained ** 2) : 0
  }
  return [
    ...Array.from(
      { length: count },
      (_, m): Acts => ({
        temperatureMk: weighted((own) => at(own, m)),
        correlation: { kind: 'common' },
      }),
    ),
    { temperatureMk: weighted(beyond) },
  ]
}

/** One error of each resistor: channels that share it share its error, each with its own sign. */
function resistorActs(
  points: readonly PairPoint[],
  facts: PairFacts,
  size: (r: ResistorFacts) => number,
): Acts[] {
  // Where R(WTP) was measured on the same resistor in the session its error cancels in W.
  const ofReference = facts.references.map((r) => (r.ratioFromSession ? null : r.resistor))
  const ids = new Set([...ofReference, facts.resistor].flatMap((r) => r?.id ?? []))
  return [...ids].map((id): Acts => {
    const of = (r: ResistorFacts | null) => (r?.id === id ? size(r) : 0)
    return {
      ...onReferences(points, (k) => of(ofReference[k]!)),
      underTestRelative: points.map(() => of(facts.resistor)),
    }
  })
}

/** Every ratio has an error of its own, of the size of the bridge that measured it. */
function ratioActs(
  points: readonly PairPoint[],
  facts: PairFacts,
  size: (b: BridgeInForce, ratio: number) => number,
): Acts[] {
  const of = (bridge: BridgeInForce | null, ratio: number | null) =>
    bridge && ratio ? size(bridge, ratio) / ratio : 0
  return [
    ...facts.references.map(
      ({ bridge }, k): Acts => ({
        ...onReferences(points, (j, at) => (j === k ? of(bridge, at.ratio) : 0)),
        ...(bridge?.linearitySource && { source: bridge.linearitySource }),
      }),
    ),
    {
      underTestRelative: points.map((p) => of(facts.bridge, p.underTestRatio)),
      ...(facts.bridge?.linearitySource && { source: facts.bridge.linearitySource }),
    },
  ]
}

/** What the errors of one component of a budget do at the points. */
export function actsOf(component: TemplateComponent, points: readonly PairPoint[], facts: PairFacts): Acts[] {
  const figure = component.figure ?? 0
  const { references } = facts
  const inBath = (size: (p: PairPoint) => number): Acts[] => [
    { temperatureMk: points.map((p) => (p.cell ? 0 : size(p))) },
  ]
  switch (component.origin) {
    case 'noise-reference':
      return references.flatMap((_, k) => referenceNoiseActs(points, k))
    case 'noise-under-test':
      return underTestNoiseActs(points)
    case 'bridge-linearity':
      return ratioActs(points, facts, bridgeLinearityAt)
    case 'bridge-resolution':
      return ratioActs(points, facts, (b) => b.uResolutionRatio).map(({ source: _, ...act }) => act)
    case 'resistor-calibration':
      return resistorActs(points, facts, (r) => r.calibration)
    case 'resistor-drift':
      return resistorActs(points, facts, (r) => r.drift)
    case 'resistor-temperature':
      return resistorActs(points, facts, (r) => r.temperature)
    case 'reference-calibration':
      return references.flatMap((r, k) => calibrationActs(points, r, k))
    case 'reference-wtp':
      return references.map((r, k) => ({
        ...onReferences(points, (j) => (j === k ? r.wtpRelative : 0)),
        ...(r.ratioFromSession && { source: SESSION_WTP_SOURCE }),
      }))
    case 'reference-drift':
      return references.map((r, k) => {
        const mk = (figure * r.yearsSince) / HALF_WIDTH_DIVISOR.rectangular
        return onReferences(points, (j) => (j === k ? mk * r.relativePerMkAtWtp : 0))
      })
    case 'reference-disagreement':
      return inBath((p) => p.disagreementMk / HALF_WIDTH_DIVISOR.rectangular)
    case 'self-heating-reference':
      return references.map((_, k) => ({
        temperatureMk: onTemperature(points, k, (at) => at.selfHeatingMk),
        ...ofPairs(points.map((p) => (p.cell ? undefined : p.references[k]?.selfHeatingDof))),
      }))
    case 'self-heating-under-test':
      return [
        {
          temperatureMk: points.map((p) => p.underTestSelfHeatingMk),
          ...ofPairs(points.map((p) => p.underTestSelfHeatingDof)),
        },
      ]
    case 'bath-uniformity':
      return placeActs(points, facts)
    case 'bath-stability':
      return stabilityActs(points, facts)
    case 'cell':
      return [{ temperatureMk: points.map((p) => (p.cell ? fixedMk(component, p.referenceC) : 0)) }]
    case 'hysteresis': {
      const usual = (figure * facts.spanK * 1000) / 2
      const seen = facts.hysteresis
      // Visits that show nothing cannot make a thermometer worse than others of its kind usually are.
      const bySight = seen !== null && (seen.found || seen.halfMk < usual)
      const half = bySight ? seen.halfMk : usual
      const sign = (p: PairPoint) => (seen?.down.has(p.point) ? -1 : 1)
      return inBath((p) => (sign(p) * half) / HALF_WIDTH_DIVISOR.rectangular).map((act) => ({
        ...act,
        ...(bySight && { source: VISITS_SOURCE }),
      }))
    }
    case 'repeatability': {
      const { excess } = facts
      if (!excess) return inBath(() => 0)
      return [
        {
          temperatureMk: points.map((p) => (p.cell ? 0 : excess.mk)),
          degreesOfFreedom: points.map(() => excess.degreesOfFreedom),
        },
      ]
    }
    case 'reference-junction': {
      const stated = facts.underTestJunctionMk
      if (stated === null) return inBath((p) => fixedMk(component, p.referenceC) * p.junctionPart)
      return inBath((p) => stated * p.junctionPart).map((act) => ({
        ...act,
        source: JUNCTION_SOURCE,
        // The bench states a standard uncertainty; the half-width is the template's alone.
        distribution: 'normal',
      }))
    }
    case 'insulation':
      return insulationActs(points, facts)
    case 'meter':
      return [
        {
          underTestRelative: points.map((p) => facts.meter?.uRelative(p.underTestSignal) ?? 0),
          ...(facts.meter && { source: facts.meter.source }),
        },
      ]
    case 'fixed':
      if (component.replacedBy === 'lift' && facts.lift) return liftActs(points, facts.lift, component)
      return inBath((p) => fixedMk(component, p.referenceC))
  }
}

/** A shunt of a resistance R by R_i makes it low by R / R_i: known to be there, not known to stay; half-width of a rectangle. */
function insulationActs(points: readonly PairPoint[], facts: PairFacts): Acts[] {
  const part = (ohm: number | null, across: number | null) =>
    ohm === null || across === null ? 0 : ohm / across / HALF_WIDTH_DIVISOR.rectangular
  return [
    ...facts.references.map((r, k): Acts => {
      // Measured with R(WTP) in the session, the same shunt stands in both and what is left is their difference.
      const atWtp = (at: ReferencePoint) => (r.ratioFromSession ? at.ohmAtWtp : 0)
      return onReferences(points, (j, at) =>
        j === k && at.ohm !== null ? part(Math.abs(at.ohm - atWtp(at)), r.insulationOhm) : 0,
      )
    }),
    { underTestRelative: points.map((p) => part(p.underTestOhm, facts.insulationOhm)) },
  ]
}

/**
 * Length over which stem conduction falls to 1/e, mm: shortest and longest of usual probes; and the half-width that this
 * leaves of e = d / (exp(l / L) - 1), d the change by a lift l. Common practice, no source.
 */
const LONGEST_STEM_MM = 40
const USUAL_STEM_MM = 15
const ROOM_C = 23

/**
 * Heat along the stem, by the change that a lift made, in proportion to the distance from the room's temperature. A lift that
 * changes nothing it could see leaves the smaller of what it could have hidden and what is usual.
 */
function liftActs(points: readonly PairPoint[], lift: LiftFacts, usual: TemplateComponent): Acts[] {
  const { changeMk, uMk, liftMm, celsius } = lift
  const left = (stemMm: number) => 1 / (Math.exp(liftMm / stemMm) - 1)
  const found = Math.abs(changeMk) > SEEN * uMk
  const u = found
    ? (left(LONGEST_STEM_MM) * Math.abs(changeMk)) / HALF_WIDTH_DIVISOR.rectangular
    : left(USUAL_STEM_MM) * uMk
  const bySight = `lift by ${liftMm} mm in this session: ${changeMk.toFixed(2)} mK, u ${uMk.toFixed(2)} mK`
  const fromRoom = (p: PairPoint) => Math.abs(p.referenceC - ROOM_C)
  const furthest = points.filter((p) => !p.cell).toSorted((a, b) => fromRoom(b) - fromRoom(a))[0]
  const at = (p: PairPoint) => (u * Math.abs(p.referenceC - ROOM_C)) / Math.max(1, Math.abs(celsius - ROOM_C))
  return [
    {
      temperatureMk: points.map((p) => {
        if (p.cell) return 0
        return found ? at(p) : Math.min(at(p), fixedMk(usual, p.referenceC))
      }),
      correlation: { kind: 'common' },
      source:
        !found && furthest && fixedMk(usual, furthest.referenceC) < at(furthest)
          ? `${usual.source}; ${bySight} shows no more`
          : bySight,
    },
  ]
}
