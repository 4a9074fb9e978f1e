import { fitThermometer, type ThermometerFit } from '../fit/fit.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { welchSatterthwaite } from '../statistics/budget.ts'
import { coverageFactor } from '../statistics/coverage.ts'
import { type Prepared, prepare } from '../thermometry/convert.ts'
import {
  type FixedPointName,
  fixedPoint,
  fixedPointTemperature,
  STANDARD_PRESSURE_PA,
} from '../thermometry/fixed-points.ts'

/** How a plateau was taken: what corrects it and how certain that is. Standard uncertainties. */
export interface CellConditions {
  readonly fixedPoint: FixedPointName
  /** Depth of the element's middle below the surface of the liquid, m. */
  readonly depthM: number
  readonly uDepthM: number
  /** Pressure over the liquid, Pa; of no account for a triple point. */
  readonly pressurePa?: number
  readonly uPressurePa?: number
  /** Impurities, isotopes and the like of the cell itself, mK. */
  readonly uCellMk: number
  /** Of the ratio and the resistor together, as a temperature, mK. */
  readonly uBridgeMk: number
  /** Heat that flows along the stem, mK. */
  readonly uHeatFluxMk?: number
}

/** A plateau's mean resistance and repeatability. */
export interface PlateauValue {
  readonly ohm: number
  readonly uTypeAMk: number
  readonly degreesOfFreedom: number
  /** How far the used part moves, mK: the plateau has no one temperature. */
  readonly rangeMk: number
}

/** Self-heating at the measuring current, mK, and its standard uncertainty. */
export interface SelfHeatingValue {
  readonly mk: number
  readonly uMk: number
}

export interface FixedPointComponent {
  readonly name: string
  readonly uMk: number
  readonly kind: 'A' | 'B'
  readonly degreesOfFreedom: number
}

/** A thermometer's resistance at a fixed point: zero current, at the temperature its element really had. */
export interface FixedPointValue {
  readonly fixedPoint: FixedPointName
  /** Temperature at the element: the point's own with head and pressure, degC. */
  readonly t90C: number
  readonly headMk: number
  readonly pressureMk: number
  readonly ohm: number
  readonly components: readonly FixedPointComponent[]
  readonly uMk: number
  readonly degreesOfFreedom: number
}

/**
 * Reduces a plateau: head and pressure move the temperature, self-heating comes off the resistance.
 *
 *   t90 = T90 - 273.15 K + (dT/dl) l + (dT/dp)(p - p0);  R0 = R - (dR/dt) dt
 *
 * Symbols: l depth, p pressure, p0 101325 Pa, dt self-heating. Source: ITS-90 (1990), table 2.
 */
export function reducePlateau(
  plateau: PlateauValue,
  conditions: CellConditions,
  selfHeating: SelfHeatingValue,
  ohmPerKelvin: number,
): FixedPointValue {
  const { depthM, uDepthM, uCellMk, uBridgeMk, uHeatFluxMk = 0 } = conditions
  const { pressurePa = STANDARD_PRESSURE_PA, uPressurePa = 0 } = conditions
  const point = fixedPoint(conditions.fixedPoint)
  const t90C = fixedPointTemperature(conditions.fixedPoint, depthM, pressurePa)
  const moved = point.kind === 'triple' ? 0 : point.kelvinPerPascal
  const all: FixedPointComponent[] = [
    { name: 'Repeatability', uMk: plateau.uTypeAMk, kind: 'A', degreesOfFreedom: plateau.degreesOfFreedom },
    {
      name: 'Slope of the plateau',
      uMk: plateau.rangeMk / Math.sqrt(12),
      kind: 'B',
      degreesOfFreedom: Infinity,
    },
    { name: 'Cell', uMk: uCellMk, kind: 'B', degreesOfFreedom: Infinity },
    {
      name: 'Hydrostatic head',
      uMk: Math.abs(point.kelvinPerMetre * uDepthM) * 1e3,
      kind: 'B',
      degreesOfFreedom: Infinity,
    },
    { name: 'Pressure', uMk: Math.abs(moved * uPressurePa) * 1e3, kind: 'B', degreesOfFreedom: Infinity },
    { name: 'Self-heating', uMk: selfHeating.uMk, kind: 'B', degreesOfFreedom: Infinity },
    { name: 'Bridge and resistor', uMk: uBridgeMk, kind: 'B', degreesOfFreedom: Infinity },
    { name: 'Heat flux', uMk: uHeatFluxMk, kind: 'B', degreesOfFreedom: Infinity },
  ]
  const components = all.filter((c) => c.uMk > 0)
  const uMk = Math.hypot(...components.map((c) => c.uMk))
  return {
    fixedPoint: conditions.fixedPoint,
    t90C,
    headMk: point.kelvinPerMetre * depthM * 1e3,
    pressureMk: moved * (pressurePa - STANDARD_PRESSURE_PA) * 1e3,
    ohm: plateau.ohm - ohmPerKelvin * selfHeating.mk * 1e-3,
    components,
    uMk,
    degreesOfFreedom: welchSatterthwaite(
      uMk,
      components.map((c) => ({ u: c.uMk, degreesOfFreedom: c.degreesOfFreedom })),
    ),
  }
}

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
  /** Standard uncertainty of a temperature found with the coefficients, K. */
  uncertaintyK(t90C: number): number
}

const STEP_MK = 0.1

/**
 * ITS-90 coefficients from a set of plateaus, one of which (at least) is the water triple point's.
 *
 * R(0.01 degC) is the mean of the water plateaus, each brought to 0.01 degC by its head. Every plateau's error, the
 * water's own among them, is carried into every coefficient and temperature: an error of R(0.01 degC) moves all W together.
 *
 * Throws ComparisonError 'not-determined' where no water plateau is among them; what fitThermometer throws else.
 */
export function calibrateByFixedPoints(
  values: readonly FixedPointValue[],
  coverage = 0.9545,
  subrange?: string,
): FixedPointCalibration {
  const water = values.filter((v) => v.fixedPoint === 'H2O')
  const others = values.filter((v) => v.fixedPoint !== 'H2O')
  if (water.length === 0 || others.length === 0) {
    throw new ComparisonError(
      'not-determined',
      'Coefficients need a plateau at the water triple point and at least one other: W is a ratio of the two.',
      { water: water.length, others: others.length },
    )
  }
  // Near 0.01 degC every platinum thermometer changes by this part of its resistance for each kelvin, well within what a head of a few tenths of a millikelvin asks.
  const perKelvin = 3.9885e-3
  const fitWith = (shiftMk: readonly number[]) => {
    const moved = values.map((v, i) => {
      const near = v.ohm * perKelvinAt(v.t90C)
      return { ...v, ohm: v.ohm - near * (shiftMk[i] ?? 0) * 1e-3 }
    })
    const rWtp = meanOf(
      moved.filter((v) => v.fixedPoint === 'H2O').map((v) => v.ohm * (1 - perKelvin * (v.t90C - 0.01))),
    )
    const points = moved
      .filter((v) => v.fixedPoint !== 'H2O')
      .map((v) => ({ t90C: v.t90C, resistance: v.ohm, uT: Math.max(v.uMk, 1e-6) * 1e-3 }))
    const fit = fitThermometer({
      model: { kind: 'its90', rWtp, ...(subrange !== undefined && { subrange }) },
      // The water plateau takes no part in the fit, but the calibration reaches to it.
      points: [...points, { t90C: 0.01, resistance: rWtp, uT: 1e-6 }],
    })
    return { fit, rWtp, prepared: prepare(fit.conversion) }
  }
  const base = fitWith([])
  const responses = values.map((_, i) => {
    const along = (sign: number) => fitWith(values.map((_v, j) => (i === j ? sign * STEP_MK : 0)))
    return { up: along(1), down: along(-1) }
  })
  const carried = (of: (at: ReturnType<typeof fitWith>) => number) => {
    const parts = responses.map(({ up, down }, i) => ({
      u: Math.abs(((of(up) - of(down)) / (2 * STEP_MK)) * values[i]!.uMk),
      degreesOfFreedom: values[i]!.degreesOfFreedom,
    }))
    const u = Math.hypot(...parts.map((p) => p.u))
    return { u, k: coverageFactor(coverage, welchSatterthwaite(u, parts)) }
  }
  const { fit, prepared, rWtp } = base
  const coefficients = [['rWtp', rWtp] as const, ...Object.entries(fit.coefficients)].map(([name, value]) => {
    const { u, k } = carried((at) => (name === 'rWtp' ? at.rWtp : at.fit.coefficients[name]!))
    return { name, value, u, k, expanded: k * u }
  })
  return {
    fit,
    prepared,
    rWtp,
    points: others.map((v, i) => {
      const slope = prepared.toSignal(v.t90C).dValueDInput / rWtp
      const w = v.ohm / rWtp
      return {
        fixedPoint: v.fixedPoint,
        t90C: v.t90C,
        w,
        uW: Math.hypot(slope * v.uMk * 1e-3, (w / rWtp) * coefficients[0]!.u),
        residualMk: fit.residualsK[i]! * 1e3,
      }
    }),
    coefficients,
    uncertaintyK(t90C) {
      const ohm = prepared.toSignal(t90C).value
      return carried((at) => at.prepared.toTemperature(ohm).value).u
    },
  }
}

const meanOf = (list: readonly number[]) => list.reduce((sum, v) => sum + v, 0) / list.length

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
