import { welchSatterthwaite } from '../statistics/budget.ts'
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
  /** Temperature of the cell less that of the scale, mK, as its certificate states it. */
  readonly offsetMk?: number
  /** Impurities, isotopes and the like of the cell itself, mK. */
  readonly uCellMk: number
  /** Of the ratio, as a temperature, mK. */
  readonly uBridgeMk: number
  /** Of the reference resistor's value, as a temperature, mK: the same relative error in every cell, so that W has none of it. */
  readonly uResistorMk?: number
  /** Of the resistor's temperature on the day, as a temperature, mK. */
  readonly uResistorTemperatureMk?: number
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
  /** What has the same error of this component: plateaus of one cell, everything measured against one resistor. */
  readonly sharedBy: 'nothing' | 'cell' | 'resistor'
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
  /** Which cell it was, where more than one of a fixed point is used; plateaus of one cell share its errors. */
  readonly cell?: string | undefined
  /** When it was taken, ms: a W is a ratio to the R(0.01 degC) of that time. */
  readonly utcMs?: number | undefined
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
  const { uResistorMk = 0, uResistorTemperatureMk = 0 } = conditions
  const { pressurePa = STANDARD_PRESSURE_PA, uPressurePa = 0 } = conditions
  const point = fixedPoint(conditions.fixedPoint)
  const t90C =
    fixedPointTemperature(conditions.fixedPoint, depthM, pressurePa) + (conditions.offsetMk ?? 0) * 1e-3
  const moved = point.kind === 'triple' ? 0 : point.kelvinPerPascal
  const ofTypeB = (name: string, uMk: number, sharedBy: FixedPointComponent['sharedBy']) =>
    ({ name, uMk, kind: 'B', degreesOfFreedom: Infinity, sharedBy }) as const
  const all: FixedPointComponent[] = [
    {
      name: 'Repeatability',
      uMk: plateau.uTypeAMk,
      kind: 'A',
      degreesOfFreedom: plateau.degreesOfFreedom,
      sharedBy: 'nothing',
    },
    ofTypeB('Slope of the plateau', plateau.rangeMk / Math.sqrt(12), 'nothing'),
    ofTypeB('Cell', uCellMk, 'cell'),
    ofTypeB('Hydrostatic head', Math.abs(point.kelvinPerMetre * uDepthM) * 1e3, 'cell'),
    ofTypeB('Pressure', Math.abs(moved * uPressurePa) * 1e3, 'cell'),
    ofTypeB('Self-heating', selfHeating.uMk, 'nothing'),
    ofTypeB('Bridge', uBridgeMk, 'cell'),
    ofTypeB('Resistor', uResistorMk, 'resistor'),
    ofTypeB("Resistor's temperature", uResistorTemperatureMk, 'nothing'),
    ofTypeB('Heat flux', uHeatFluxMk, 'cell'),
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
