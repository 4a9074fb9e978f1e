import { said } from '../messages/said.ts'
import { ThermometryError } from './errors.ts'

export type FixedPointName =
  | 'e-H2'
  | 'Ne'
  | 'O2'
  | 'Ar'
  | 'Hg'
  | 'H2O'
  | 'Ga'
  | 'In'
  | 'Sn'
  | 'Zn'
  | 'Al'
  | 'Ag'
  | 'Au'
  | 'Cu'

export interface FixedPoint {
  readonly name: FixedPointName
  readonly substance: string
  /** A triple point has no pressure of its own choosing: only the head of liquid moves it. */
  readonly kind: 'triple' | 'melting' | 'freezing'
  readonly kelvin: number
  /** Reference ratio as the scale prints it; none above the silver point. */
  readonly wr: number | undefined
  readonly kelvinPerPascal: number
  readonly kelvinPerMetre: number
}

/** Pressure at which melting and freezing points are defined, pascal. */
export const STANDARD_PRESSURE_PA = 101_325

const point = (
  name: FixedPointName,
  substance: string,
  kind: FixedPoint['kind'],
  kelvin: number,
  wr: number | undefined,
  hundredNanokelvinPerPascal: number,
  millikelvinPerMetre: number,
): FixedPoint => ({
  name,
  substance,
  kind,
  kelvin,
  wr,
  kelvinPerPascal: hundredNanokelvinPerPascal / 1e8,
  kelvinPerMetre: millikelvinPerMetre / 1e3,
})

/** ITS-90 (1990), Tables 1 and 2: T90/K, Wr, dT/dp in 1e-8 K/Pa, dT/dl in 1e-3 K/m. */
export const FIXED_POINTS: readonly FixedPoint[] = [
  point('e-H2', 'equilibrium hydrogen', 'triple', 13.8033, 0.00119007, 34, 0.25),
  point('Ne', 'neon', 'triple', 24.5561, 0.00844974, 16, 1.9),
  point('O2', 'oxygen', 'triple', 54.3584, 0.09171804, 12, 1.5),
  point('Ar', 'argon', 'triple', 83.8058, 0.21585975, 25, 3.3),
  point('Hg', 'mercury', 'triple', 234.3156, 0.84414211, 5.4, 7.1),
  point('H2O', 'water', 'triple', 273.16, 1, -7.5, -0.73),
  point('Ga', 'gallium', 'melting', 302.9146, 1.11813889, -2, -1.2),
  point('In', 'indium', 'freezing', 429.7485, 1.60980185, 4.9, 3.3),
  point('Sn', 'tin', 'freezing', 505.078, 1.89279768, 3.3, 2.2),
  point('Zn', 'zinc', 'freezing', 692.677, 2.5689173, 4.3, 2.7),
  point('Al', 'aluminium', 'freezing', 933.473, 3.3760086, 7, 1.6),
  point('Ag', 'silver', 'freezing', 1234.93, 4.28642053, 6, 5.4),
  point('Au', 'gold', 'freezing', 1337.33, undefined, 6.1, 10),
  point('Cu', 'copper', 'freezing', 1357.77, undefined, 3.3, 2.6),
]

/**
 * A defining fixed point of ITS-90 by its symbol.
 *
 * Symbols  name, chemical symbol: e-H2, Ne, O2, Ar, Hg, H2O, Ga, In, Sn, Zn, Al, Ag, Au, Cu
 * Source   ITS-90, Metrologia 27, 3-10 (1990), Tables 1 and 2
 * Valid    the fourteen points that are triple, melting or freezing points
 * Throws   ThermometryError 'unknown-fixed-point'
 */
export function fixedPoint(name: string): FixedPoint {
  const found = FIXED_POINTS.find((candidate) => candidate.name === name)
  if (!found) {
    throw new ThermometryError(
      'unknown-fixed-point',
      said('no-such-fixed-point', { name, points: FIXED_POINTS.map((p) => p.name).join(', ') }),
      { name },
    )
  }
  return found
}

/**
 * Temperature at the middle of a thermometer's element in a fixed-point cell.
 *
 *   t = T90 - 273.15 + (dT/dl) l + (dT/dp)(p - 101325 Pa)
 *
 * Symbols  t in degC; l depth of the element's middle below the surface of the liquid, m; p pressure over the
 *          liquid, Pa; dT/dl in K/m; dT/dp in K/Pa
 * Source   ITS-90, Metrologia 27, 3-10 (1990), Table 2
 * Valid    depths of some decimetres, pressures near 101325 Pa; a triple point takes no pressure, its own is meant
 * Throws   ThermometryError 'not-finite' | 'outside-range' for a negative depth or pressure
 */
export function fixedPointTemperature(
  name: FixedPointName,
  depthM: number,
  pressurePa = STANDARD_PRESSURE_PA,
): number {
  const { kelvin, kind, kelvinPerMetre, kelvinPerPascal } = fixedPoint(name)
  if (!Number.isFinite(depthM) || !Number.isFinite(pressurePa)) {
    throw new ThermometryError('not-finite', said('depth-or-pressure-not-finite', {}), {
      depthM,
      pressurePa,
    })
  }
  if (depthM < 0 || pressurePa < 0) {
    throw new ThermometryError('outside-range', said('depth-or-pressure-negative', {}), {
      depthM,
      pressurePa,
    })
  }
  const byPressure = kind === 'triple' ? 0 : kelvinPerPascal * (pressurePa - STANDARD_PRESSURE_PA)
  return kelvin - 273.15 + kelvinPerMetre * depthM + byPressure
}
