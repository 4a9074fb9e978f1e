import type { Prepared } from '../thermometry/convert.ts'
import { type ChannelRecord, calibrationMk, yearsBetween, zeroCurrentSignal } from './analysis-channel.ts'
import type { AnalysisInput, Decisions } from './analysis-input.ts'
import { isCell, type Pair, type ReferenceSide, WTP_CELL_MK } from './analysis-pairs.ts'
import { bridgeInForce } from '../live/bridge-in-force.ts'
import { calibrationModes } from './calibration-modes.ts'
import { largestHalfSpanMk, type Revisit } from './hysteresis.ts'
import type { PairFacts, ResistorFacts } from './uncertainty-sources.ts'
import { compareWtp, type WtpComparison } from './wtp.ts'

function resistorFacts(record: ChannelRecord): ResistorFacts | null {
  if (!record.resistor) return null
  const { contributions, ohm } = record.resistor.value
  return {
    calibration: contributions.calibration / ohm,
    drift: contributions.drift / ohm,
    temperature: contributions.temperature / ohm,
  }
}

/** What the records say of a comparison's bridge, resistors, bath and reference, for the sources of error. */
export function factsOf(
  record: ChannelRecord,
  reference: ReferenceSide,
  decisions: Decisions,
  date: string,
  pairs: readonly Pair[],
  revisits: readonly Revisit[],
): PairFacts {
  const bath = decisions.setup.bench.bath
  const calibration = reference.record.calibration!
  const { conversion } = calibration
  const wtpEntry = conversion.kind === 'its90' ? reference.record.wtp : null
  const registeredU = conversion.kind === 'its90' ? (conversion.uRWtp ?? 0) / Number(conversion.rWtp ?? 1) : 0
  const referenceWtpRelative =
    reference.sessionWtp?.uRelative ?? (wtpEntry ? wtpEntry.uOhm / Number(wtpEntry.ohm) : registeredU)
  const since = [calibration.date, wtpEntry?.date ?? ''].toSorted().at(-1)!
  const celsius = pairs.map((p) => p.referenceC)
  const at0 = reference.prepared.toSignal(0.01)
  return {
    bridge: bridgeInForce(record.instrument, date),
    referenceResistor: resistorFacts(reference.record),
    underTestResistor: resistorFacts(record),
    sameResistor: record.resistor?.record.id === reference.record.resistor?.record.id,
    referenceRatioFromSession: reference.sessionWtp !== null,
    referenceCalibrationMk: (t) => calibrationMk(calibration.uncertainty, t),
    referenceCalibrationModesMk: calibrationModes(reference.prepared),
    referenceWtpRelative,
    referenceRelativePerMkAtWtp: Math.abs(at0.dValueDInput / at0.value) * 1e-3,
    yearsSinceReference: reference.sessionWtp ? 0 : yearsBetween(since, date),
    bathUniformityMk: bath?.uniformityMk ?? 0,
    bathStabilityMk: bath?.stabilityMk ?? 0,
    underTestJunctionMk: record.channel.junction?.uK === undefined ? null : record.channel.junction.uK * 1e3,
    hysteresisMk: largestHalfSpanMk(revisits),
    spanK: Math.max(...celsius) - Math.min(...celsius),
    excess: null,
  }
}

/** R(WTP) of a channel as the session measured it, against the register; null where it was not measured or has no resistance. */
export function wtpOf(
  record: ChannelRecord,
  near: Prepared,
  input: AnalysisInput,
  fraction: number,
): WtpComparison | null {
  if (near.signal !== 'resistance') return null
  const slope = near.toSignal(0.01)
  const perRelative = Math.abs(slope.value / slope.dValueDInput) * 1e3
  const measurements = input.points.filter(isCell).flatMap((point) => {
    const at = point.channels.find((c) => c.channel === record.channel.id)
    const zero = at && zeroCurrentSignal(point, at, record, input.points, () => slope.dValueDInput, fraction)
    if (!at || !zero) return []
    const resolution = record.instrument?.bridge?.resolutionRatio ?? 0
    const resolutionMk = at.rawUnit === 'ratio' ? (resolution / at.rawMean) * perRelative : 0
    const noiseMk = at.uTypeAMk ?? (at.rawSd / Math.sqrt(at.nEffective) / at.rawMean) * perRelative
    return [
      {
        point: point.id,
        when: point.kind === 'wtp-before' ? ('before' as const) : ('after' as const),
        ohm: zero.signal,
        uOhm: (Math.hypot(noiseMk, resolutionMk, WTP_CELL_MK) / perRelative) * zero.signal,
      },
    ]
  })
  return measurements.length === 0 ? null : compareWtp(measurements, record.wtp, perRelative)
}
