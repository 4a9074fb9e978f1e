import { fitThermometer, type ThermometerFit } from '../fit/fit.ts'
import { said } from '../messages/said.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { welchSatterthwaite } from '../statistics/budget.ts'
import { coverageFactor } from '../statistics/coverage.ts'
import { type Prepared, prepare } from '../thermometry/convert.ts'
import type { FixedPointName } from '../thermometry/fixed-points.ts'
import { SUBRANGES, type Subrange, subrange as subrangeOf } from '../thermometry/its90-subranges.ts'
import type { FixedPointComponent, FixedPointValue } from './fixed-point.ts'
import { consistencyOf, type SetConsistency, type WtpStep, wtpOver, wtpSteps } from './fixed-point-wtp.ts'

export interface FixedPointCoefficient {
  readonly name: string
  readonly value: number
  readonly u: number
  readonly k: number
  readonly expanded: number
}

export interface FixedPointCalibration {
  readonly fit: ThermometerFit
  readonly prepared: Prepared
  readonly rWtp: number
  /** One for each plateau but the water triple point's own. */
  readonly points: readonly {
    readonly fixedPoint: FixedPointName
    readonly t90C: number
    readonly w: number
    readonly uW: number
    readonly residualMk: number
  }[]
  readonly coefficients: readonly FixedPointCoefficient[]
  /** Of the coefficients (R(0.01 degC) is no part of it), in the order of the conversion's own names. */
  readonly covariance: { readonly names: readonly string[]; readonly matrix: readonly (readonly number[])[] }
  /** R(0.01 degC) from one water plateau to the next; empty with one only. */
  readonly wtpSteps: readonly WtpStep[]
  /** Whether more points than coefficients agree with one another; null where there are no more. */
  readonly consistency: SetConsistency | null
  /** Standard uncertainty of a temperature found with the coefficients and this R(0.01 degC) by the same resistor, K. */
  uncertaintyK(t90C: number): number
}

const STEP_MK = 0.1

/** A set with every plateau moved by a little, and what follows of it. */
interface Outcome {
  readonly fit: ThermometerFit
  readonly prepared: Prepared
  readonly rWtp: number
  /** W of the plateaus that are not of water. */
  readonly w: readonly number[]
}

const uOf = (value: FixedPointValue, which: (sharedBy: FixedPointComponent['sharedBy']) => boolean) =>
  Math.hypot(...value.components.filter((c) => which(c.sharedBy)).map((c) => c.uMk))

/** Plateaus that share the errors of a cell. */
const cellOf = ({ cell, fixedPoint: name }: FixedPointValue) => `${name} ${cell ?? ''}`

/**
 * ITS-90 coefficients from a set of plateaus, one of which (at least) is the water triple point's.
 *
 *   W_i = R_i / R_wtp(time of i);  u^2(f) = sum_i (c_i u_i)^2 + sum_cells (sum_i c_i u_i,cell)^2 + (sum_i c_i u_i,resistor)^2
 *
 * Symbols: c_i change of a result f for each millikelvin of plateau i; u_i what is a plateau's own, u_i,cell what all plateaus of one
 * cell share (cell, head, pressure, the bridge at one ratio), u_i,resistor what all share that is measured against one
 * resistor. An error of the resistor moves R(0.01 degC) and every R together, so that W, the coefficients and a temperature found by
 * the same resistor have none of it. Bridge errors at different ratios are taken as independent. Source: JCGM 100:2008, 5.2, for the
 * correlated terms; R(0.01 degC) is brought to 0.01 degC by its head, and with times it is followed from plateau to plateau
 * (common practice, no source).
 *
 * Throws ComparisonError 'not-determined' where no water plateau is among them, 'bad-input' where one lies outside the
 * subrange asked for; what fitThermometer throws else.
 */
export function calibrateByFixedPoints(
  values: readonly FixedPointValue[],
  coverage = 0.9545,
  subrange?: string,
): FixedPointCalibration {
  const water = values.filter((v) => v.fixedPoint === 'H2O')
  const others = values.filter((v) => v.fixedPoint !== 'H2O')
  if (water.length === 0 || others.length === 0) {
    throw new ComparisonError('not-determined', said('water-plateau-missing', {}), {
      water: water.length,
      others: others.length,
    })
  }
  if (subrange !== undefined) refuseOutside(subrangeOf(subrange), others)
  const outcome = (shiftMk: (i: number) => number): Outcome => {
    const moved = values.map((v, i) => ({
      ...v,
      ohm: v.ohm * (1 - perKelvinAt(v.t90C) * shiftMk(i) * 1e-3),
    }))
    const wtp = wtpOver(moved.filter((v) => v.fixedPoint === 'H2O'))
    const own = moved.filter((v) => v.fixedPoint !== 'H2O')
    const w = own.map((v) => v.ohm / wtp.at(v.utcMs))
    const points = own.map((v, i) => ({
      t90C: v.t90C,
      signal: w[i]! * wtp.mean,
      uT:
        Math.max(
          uOf(v, (by) => by !== 'resistor'),
          1e-6,
        ) * 1e-3,
    }))
    const fit = fitThermometer({
      model: { kind: 'its90', rWtp: wtp.mean, ...(subrange !== undefined && { subrange }) },
      // The water plateau takes no part in the fit, but the calibration reaches to it.
      points: [...points, { t90C: 0.01, signal: wtp.mean, uT: 1e-6 }],
    })
    return { fit, rWtp: wtp.mean, prepared: prepare(fit.conversion), w }
  }
  const base = outcome(() => 0)
  const responses = values.map((_, i) => ({
    up: outcome((j) => (j === i ? STEP_MK : 0)),
    down: outcome((j) => (j === i ? -STEP_MK : 0)),
  }))
  const parts = independentParts(values)
  /** Change of a result by each independent cause, one standard uncertainty of it. */
  const changes = (of: (at: Outcome) => number) => {
    const perMk = responses.map(({ up, down }) => (of(up) - of(down)) / (2 * STEP_MK))
    return parts.map(({ uMk }) => uMk.reduce((sum, u, i) => sum + u * perMk[i]!, 0))
  }
  const carried = (of: (at: Outcome) => number) => {
    const found = changes(of)
    const u = Math.hypot(...found)
    const budget = found.map((c, i) => ({ u: Math.abs(c), degreesOfFreedom: parts[i]!.degreesOfFreedom }))
    return { u, k: coverageFactor(coverage, welchSatterthwaite(u, budget)) }
  }
  const { fit, prepared, rWtp } = base
  const names = Object.keys(fit.coefficients)
  const coefficients = ['rWtp', ...names].map((name) => {
    const of = (at: Outcome) => (name === 'rWtp' ? at.rWtp : at.fit.coefficients[name]!)
    const { u, k } = carried(of)
    return { name, value: of(base), u, k, expanded: k * u }
  })
  /** Squares of the residuals over those that all causes together lead to expect. */
  const expectedShare = () => {
    const uMk = others.map((v) => uOf(v, (by) => by !== 'resistor'))
    const found = others.reduce((sum, _, i) => sum + ((fit.residualsK[i]! * 1e3) / uMk[i]!) ** 2, 0)
    const expected = others.reduce((sum, _, i) => {
      const moved = changes((at) => at.fit.residualsK[i]! * 1e3)
      return sum + moved.reduce((squares, m) => squares + (m / uMk[i]!) ** 2, 0)
    }, 0)
    return expected > 0 ? found / expected : 0
  }
  const moves = names.map((name) => changes((at) => at.fit.coefficients[name]!))
  return {
    fit,
    prepared,
    rWtp,
    points: others.map((v, i) => ({
      fixedPoint: v.fixedPoint,
      t90C: v.t90C,
      w: base.w[i]!,
      uW: carried((at) => at.w[i]!).u,
      residualMk: fit.residualsK[i]! * 1e3,
    })),
    coefficients,
    covariance: {
      names,
      matrix: moves.map((a) => moves.map((b) => a.reduce((sum, x, i) => sum + x * b[i]!, 0))),
    },
    wtpSteps: wtpSteps(water),
    consistency: consistencyOf(expectedShare(), others.length - names.length),
    uncertaintyK(t90C) {
      const ohm = prepared.toSignal(t90C).value
      const found = changes((at) => at.prepared.toTemperature(ohm).value)
      return Math.hypot(...found.filter((_, i) => parts[i]!.inW))
    },
  }
}

/** A cause of error that is independent of all others: how far it moves each plateau, mK. */
interface Cause {
  /** Whether it is in W as well; the resistor's is in every resistance alike. */
  readonly inW: boolean
  readonly uMk: readonly number[]
  readonly degreesOfFreedom: number
}

function independentParts(values: readonly FixedPointValue[]): Cause[] {
  const only = (index: number, u: number) => values.map((_, i) => (i === index ? u : 0))
  const own = values.flatMap((value, i) =>
    value.components
      .filter((c) => c.sharedBy === 'nothing')
      .map((c) => ({ inW: true, uMk: only(i, c.uMk), degreesOfFreedom: c.degreesOfFreedom })),
  )
  const cells = [...new Set(values.map(cellOf))].map((cell) => ({
    inW: true,
    uMk: values.map((v) => (cellOf(v) === cell ? uOf(v, (by) => by === 'cell') : 0)),
    degreesOfFreedom: Infinity,
  }))
  const resistor = {
    inW: false,
    uMk: values.map((v) => uOf(v, (by) => by === 'resistor')),
    degreesOfFreedom: Infinity,
  }
  return [...own, ...cells, resistor]
}

/** A point lies in a subrange whose end it is, moved by its head and pressure, K. */
const END_K = 0.02

/** A subrange's deviation function holds between its own ends and nowhere else (ITS-90 (1990), section 3.3). */
function refuseOutside({ section, lowC, highC }: Subrange, others: readonly FixedPointValue[]): void {
  const outside = others.filter(({ t90C }) => t90C < lowC - END_K || t90C > highC + END_K)
  if (outside.length === 0) return
  const [low, high] = [Math.min, Math.max].map((of) => of(0.01, ...others.map(({ t90C }) => t90C)))
  const holding = SUBRANGES.filter((range) => low! >= range.lowC - END_K && high! <= range.highC + END_K)
  throw new ComparisonError(
    'bad-input',
    said('cells-outside-section', {
      section,
      lowC,
      highC,
      outside: outside.map(({ fixedPoint: name, t90C }) => `${name} at ${t90C.toFixed(3)} °C`).join(', '),
      lie: outside.length === 1 ? 'lies' : 'lie',
      advice:
        holding.length > 0
          ? `Choose ${holding.map((range) => range.section).join(' or ')}, or leave those cells out.`
          : 'Leave the choice to the points, or leave those cells out.',
    }),
    { section, outside: outside.map(({ fixedPoint: name }) => name) },
  )
}

const NOMINAL = prepare({
  kind: 'its90',
  rWtp: 1,
  subrange: '3.3.2',
  coefficients: { a: 0, b: 0, c: 0, d: 0 },
  joined: { subrange: '3.3.1', coefficients: { a: 0, b: 0, c1: 0, c2: 0, c3: 0, c4: 0, c5: 0 } },
})

/** (dR/dt)/R of platinum at a temperature, 1/K, by the reference function: good to 1e-3, for shifts of a tenth of a millikelvin. */
function perKelvinAt(t90C: number): number {
  const { value, dValueDInput } = NOMINAL.toSignal(t90C)
  return dValueDInput / value
}
