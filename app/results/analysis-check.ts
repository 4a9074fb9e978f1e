import { type ChannelRecord, calibrationMk, preparedFor } from './analysis-channel.ts'
import type { AnalysisInput } from './analysis-input.ts'
import { pairsOf, type ReferenceSide } from './analysis-pairs.ts'
import { holdsAtZeroCurrent } from '../live/calibration-current.ts'

/** A check thermometer against the reference at one point. */
export interface CheckPoint {
  readonly point: string
  readonly celsius: number
  /** Check thermometer by its own calibration less reference, mK. */
  readonly differenceMk: number
  /** Expanded uncertainty of the difference, k = 2. */
  readonly expandedMk: number
  /** |difference| / expanded uncertainty; above 1 the two do not agree. */
  readonly en: number
}

export interface CheckResult {
  readonly record: ChannelRecord
  readonly points: readonly CheckPoint[]
  readonly agrees: boolean
}

/** Compares every check thermometer that has a calibration with the reference. En as in ISO 13528, 9.7 (number of the clause from memory). */
export function checkResults(
  records: readonly ChannelRecord[],
  reference: ReferenceSide,
  input: AnalysisInput,
  fraction: number,
  bath: { readonly uniformityMk: number; readonly stabilityMk: number },
): CheckResult[] {
  return records
    .filter((r) => r.channel.role === 'check' && r.calibration !== null)
    .map((record) => {
      const prepared = preparedFor(record)!
      const pairs = pairsOf({
        reference,
        record,
        near: prepared,
        points: input.points,
        referenceFraction: fraction,
        underTestFraction: fraction,
        leftOut: () => null,
      }).filter((p) => !p.cell)
      const points = pairs.map((pair): CheckPoint => {
        const zero = holdsAtZeroCurrent(record.calibration!)
        const signal = zero ? pair.underTest.signal : pair.underTest.measuredSignal
        const differenceMk = (prepared.toTemperature(signal).value - pair.referenceC) * 1e3
        const u = Math.hypot(
          pair.referenceNoiseMk,
          pair.underTestNoiseMk,
          zero ? pair.underTestSelfHeatingMk : 0,
          pair.referenceSelfHeatingMk,
          calibrationMk(record.calibration!.uncertainty, pair.referenceC),
          calibrationMk(reference.record.calibration!.uncertainty, pair.referenceC),
          bath.uniformityMk,
          bath.stabilityMk,
        )
        return {
          point: pair.point,
          celsius: pair.referenceC,
          differenceMk,
          expandedMk: 2 * u,
          en: u > 0 ? Math.abs(differenceMk) / (2 * u) : Number.POSITIVE_INFINITY,
        }
      })
      return { record, points, agrees: points.every((p) => p.en <= 1) }
    })
}
