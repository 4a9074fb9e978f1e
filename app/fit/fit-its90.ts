import { at, last } from '../base/lists.ts'
import type { Its90Section } from '../kinds/conversion.ts'
import { said } from '../messages/said.ts'
import { mean } from '../statistics/centre.ts'
import type { LeastSquaresFit } from '../statistics/fit-result.ts'
import { ThermometryError } from '../thermometry/errors.ts'
import { its90Sensor } from '../thermometry/its90.ts'
import { subrangeReferenceRatio } from '../thermometry/its90-calibration.ts'
import {
  type Coefficients,
  deviationFunction,
  deviationTerms,
  impliedAluminiumRatio,
  ratioFromReference,
} from '../thermometry/its90-deviation.ts'
import {
  referenceRatioHigh,
  referenceSlopeHigh,
  referenceSlopeLow,
  WTP_C,
} from '../thermometry/its90-reference.ts'
import { SUBRANGES, type Subrange, subrange } from '../thermometry/its90-subranges.ts'
import { covarianceField, requireResistances, solveEquation, thermometerFit } from './fit-linear.ts'
import type { CalibrationPoint, FitModel, ThermometerFit } from './fit-model.ts'

type Its90Model = Extract<FitModel, { kind: 'its90' }>

/** Points this near to the triple point of water give R(WTP); brought to it with the thermometer's own slope. */
const WTP_NEAR_K = 0.02
/** Points this far outside a subrange still count as inside: a bath is never quite at its setpoint. */
const END_K = 0.02
const ALUMINIUM_C = 660.323

interface BranchFit {
  readonly range: Subrange
  readonly members: readonly number[]
  readonly coefficients: Coefficients
  readonly wAluminium: number
  readonly fit: LeastSquaresFit
  readonly weightsAre: 'absolute' | 'relative'
}

/**
 * Fits the deviation function of a subrange of ITS-90, W − Wr(t90), to calibration points.
 *
 * R(WTP) is the one given, else the mean of the points at the triple point of water; those define W and
 * do not take part in the fit. Points on both sides of it, beyond subrange 3.3.3, give two joined sets.
 *
 * Symbols  W = R(t90)/R(273.16 K); coefficients of the deviation function, dimensionless
 * Source   ITS-90, Metrologia 27, 3-10 (1990), section 3.3 and table 5
 * Valid    as many points, besides the triple point of water, as coefficients
 * Throws   ThermometryError 'missing-value' (R(WTP)) | 'unknown-subrange' | 'outside-range' | 'not-enough-points';
 *          StatisticsError 'not-finite' | 'out-of-range' | 'underdetermined' | 'rank-deficient'
 */
export function fitIts90(model: Its90Model, points: readonly CalibrationPoint[]): ThermometerFit {
  requireResistances(points)
  const notes: string[] = []
  const atWtp = points.flatMap(({ t90C }, i) => (Math.abs(t90C - WTP_C) <= WTP_NEAR_K ? [i] : []))
  if (model.rWtp === undefined && atWtp.length === 0) {
    throw new ThermometryError('missing-value', said('rwtp-unknown-to-fit', {}))
  }
  const defining = new Set(model.rWtp === undefined ? atWtp : [])
  const fitted = points.flatMap((_, i) => (defining.has(i) ? [] : [i]))
  const ranges = rangesFor(model, points, fitted, notes)
  let rWtp = model.rWtp ?? mean(atWtp.map((i) => at(points, i).signal))
  let branches: BranchFit[] = []
  for (let pass = 0; pass < 20; pass++) {
    branches = ranges.map((range) =>
      fitBranch(range, membersOf(range, ranges, points, fitted), points, rWtp, model),
    )
    if (defining.size === 0) break
    const next = mean(atWtp.map((i) => at(points, i).signal / ratioAt(branches, at(points, i).t90C)))
    const settled = Math.abs(next - rWtp) < 1e-15 * rWtp
    rWtp = next
    if (settled) break
  }
  if (defining.size > 0) {
    notes.push(
      `R(WTP) was taken from ${defining.size === 1 ? 'the point' : `${defining.size} points`} at 0.01 degC.`,
    )
  }
  return assemble(model, points, branches, rWtp, notes)
}

function rangesFor(
  model: Its90Model,
  points: readonly CalibrationPoint[],
  fitted: readonly number[],
  notes: string[],
): Subrange[] {
  const temperatures = fitted.map((i) => at(points, i).t90C)
  if (temperatures.length === 0) {
    throw new ThermometryError('not-enough-points', said('only-the-water-point', {}))
  }
  if (model.subrange !== undefined) {
    const range = subrange(model.subrange)
    const outside = temperatures.filter((t) => t < range.lowC - END_K || t > range.highC + END_K)
    if (outside.length > 0) {
      notes.push(
        `${outside.length} of ${temperatures.length} points lie outside subrange ${range.section}, ` +
          `${range.lowC} to ${range.highC} degC.`,
      )
    }
    return [range]
  }
  const low = Math.min(...temperatures)
  const high = Math.max(...temperatures)
  const whole = narrowest(low, high, ['low', 'high', 'both'])
  if (whole !== undefined) {
    notes.push(`Subrange ${whole.section} was chosen: the narrowest that holds the points.`)
    return [whole]
  }
  const lower = narrowest(low, WTP_C, ['low'])
  const upper = narrowest(WTP_C, high, ['high'])
  if (lower === undefined || upper === undefined) {
    throw new ThermometryError('outside-range', said('no-subrange-holds', { low, high }), { low, high })
  }
  notes.push(
    `Subranges ${lower.section} and ${upper.section} were chosen, joined at the triple point of water.`,
  )
  return [lower, upper]
}

function narrowest(low: number, high: number, references: readonly string[]): Subrange | undefined {
  return SUBRANGES.filter(
    (range) =>
      references.includes(range.reference) && low >= range.lowC - END_K && high <= range.highC + END_K,
  ).sort((p, q) => p.highC - p.lowC - (q.highC - q.lowC))[0]
}

function membersOf(
  range: Subrange,
  ranges: readonly Subrange[],
  points: readonly CalibrationPoint[],
  fitted: readonly number[],
): number[] {
  if (ranges.length === 1) return [...fitted]
  return fitted.filter((i) => at(points, i).t90C < WTP_C === (range.reference === 'low'))
}

function usesLow(range: Subrange, t90C: number): boolean {
  return range.reference === 'low' || (range.reference === 'both' && t90C < WTP_C)
}

function fitBranch(
  range: Subrange,
  members: readonly number[],
  points: readonly CalibrationPoint[],
  rWtp: number,
  model: Its90Model,
): BranchFit {
  const own = members.map((i) => at(points, i))
  const measured = own.map(({ signal }) => signal / rWtp)
  const y = Float64Array.from(own, ({ t90C }, k) => at(measured, k) - subrangeReferenceRatio(range, t90C))
  const perKelvin = own.map(({ t90C }) =>
    usesLow(range, t90C) ? referenceSlopeLow(t90C) : referenceSlopeHigh(t90C),
  )
  const perOhm = own.map(() => 1 / rWtp)
  const solve = (wAluminium: number) => {
    const rows = measured.map((w) => deviationTerms(range, w, wAluminium))
    const columns = range.coefficients.map((_, j) => Float64Array.from(rows, (row) => at(row, j)))
    return solveEquation({ names: range.coefficients, columns, y, perKelvin, perOhm }, own)
  }
  const named = (fit: LeastSquaresFit): Coefficients =>
    Object.fromEntries(range.coefficients.map((name, j) => [name, at(fit.coefficients, j)]))
  const aluminium = own.findIndex(({ t90C }) => Math.abs(t90C - ALUMINIUM_C) <= END_K)
  const known = model.wAluminium ?? (aluminium >= 0 ? at(measured, aluminium) : undefined)
  let wAluminium = known ?? referenceRatioHigh(ALUMINIUM_C)
  let solution = solve(wAluminium)
  // Without W(Al) the d term starts where a, b and c put the aluminium point: a few passes settle it.
  for (let pass = 0; pass < 20 && known === undefined && range.coefficients.includes('d'); pass++) {
    const next = impliedAluminiumRatio(named(solution.fit))
    const settled = Math.abs(next - wAluminium) < 1e-14
    wAluminium = next
    solution = solve(wAluminium)
    if (settled) break
  }
  return { range, members, coefficients: named(solution.fit), wAluminium, ...solution }
}

function ratioAt(branches: readonly BranchFit[], t90C: number): number {
  if (t90C === WTP_C) return 1
  const branch = t90C < WTP_C ? at(branches, 0) : last(branches)
  const deviation = deviationFunction(branch.range, branch.coefficients, branch.wAluminium)
  return ratioFromReference(deviation, subrangeReferenceRatio(branch.range, t90C))
}

function setOf({ range, coefficients, wAluminium, fit }: BranchFit) {
  return {
    subrange: range.section satisfies Its90Section,
    coefficients: { ...coefficients },
    ...(range.coefficients.includes('d') && { wAluminium }),
    ...covarianceField(range.coefficients, fit.covariance),
  }
}

function assemble(
  model: Its90Model,
  points: readonly CalibrationPoint[],
  branches: readonly BranchFit[],
  rWtp: number,
  notes: readonly string[],
): ThermometerFit {
  const [lower, second] = [at(branches, 0), branches[1]]
  const conversion = {
    kind: 'its90' as const,
    rWtp,
    ...(model.uRWtp !== undefined && { uRWtp: model.uRWtp }),
    ...setOf(lower),
    ...(second && { joined: setOf(second) }),
    ...calibratedRange(points),
  }
  const sensor = its90Sensor(conversion)
  const names = branches.flatMap(({ range }, k) =>
    range.coefficients.map((name) => (k === 0 ? name : `joined.${name}`)),
  )
  const leverages = points.map(() => 0)
  const residualsW = points.map(() => 0)
  for (const { members, fit } of branches) {
    members.forEach((i, k) => {
      leverages[i] = at(fit.leverages, k)
      residualsW[i] = at(fit.residuals, k)
    })
  }
  return thermometerFit(
    {
      conversion,
      names,
      coefficients: branches.flatMap(({ fit }) => fit.coefficients),
      covariance: blocks(branches.map(({ fit }) => fit.covariance)),
      weightsAre: branches.every(({ weightsAre }) => weightsAre === 'absolute') ? 'absolute' : 'relative',
      chiSquared: branches.reduce((sum, { fit }) => sum + fit.chiSquared, 0),
      degreesOfFreedom: branches.reduce((sum, { fit }) => sum + fit.degreesOfFreedom, 0),
      condition: Math.max(...branches.map(({ fit }) => fit.condition)),
      leverages,
      equation: { of: 'W - Wr', unit: '1', residuals: residualsW },
      notes,
      // The reference functions miss 1 by a microkelvin's worth at the triple point itself; W is 1 there by definition.
      signalAt: (t) => rWtp * (t === WTP_C ? 1 : sensor.signalAt(t)),
      slope: (t) => rWtp * sensor.slope(t, sensor.signalAt(t)),
      gradient: (t) => {
        const gradient = sensor.gradient(t, sensor.signalAt(t))
        return names.map((name) => rWtp * (gradient[name] ?? 0))
      },
    },
    points,
  )
}

function blocks(parts: readonly (readonly (readonly number[])[])[]): number[][] {
  const size = parts.reduce((sum, part) => sum + part.length, 0)
  const whole = Array.from({ length: size }, () => new Array<number>(size).fill(0))
  let offset = 0
  for (const part of parts) {
    part.forEach((row, i) => {
      row.forEach((value, j) => {
        at(whole, offset + i)[offset + j] = value
      })
    })
    offset += part.length
  }
  return whole
}

/** From the lowest to the highest point; a side that starts at the triple point of water starts where its subrange does, which holds 0 degC. */
function calibratedRange(points: readonly CalibrationPoint[]): { range?: [number, number] } {
  const temperatures = points.map(({ t90C }) => t90C)
  const low = Math.min(...temperatures)
  const high = Math.max(...temperatures)
  const from = low < WTP_C + END_K ? Math.min(low, 0) : low
  const to = high > -END_K ? Math.max(high, WTP_C) : high
  return from < to ? { range: [from, to] } : {}
}
