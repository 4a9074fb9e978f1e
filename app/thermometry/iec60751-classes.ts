import { needed } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import type { Construction, TOLERANCE_CLASS_NAMES } from '../records/certificate.ts'
import { ThermometryError } from './errors.ts'

export type ToleranceClass = (typeof TOLERANCE_CLASS_NAMES)[number]

export interface Tolerance {
  readonly name: ToleranceClass
  /** Tolerance in kelvin: a + b |t|, t in degC. */
  readonly a: number
  readonly b: number
  readonly range: Readonly<Record<Construction, readonly [lowC: number, highC: number]>>
}

/**
 * IEC 60751:2022, tolerance classes of finished thermometers. Formulas and the ranges of wire-wound elements as read
 * in texts that cite the edition of 2008, which the edition of 2022 keeps (from memory); the ranges of film elements
 * from memory. Name the edition wherever a class is judged.
 */
export const TOLERANCE_CLASSES: readonly Tolerance[] = [
  { name: 'AA', a: 0.1, b: 0.0017, range: { 'wire-wound': [-50, 250], film: [0, 150] } },
  { name: 'A', a: 0.15, b: 0.002, range: { 'wire-wound': [-100, 450], film: [-30, 300] } },
  { name: 'B', a: 0.3, b: 0.005, range: { 'wire-wound': [-196, 600], film: [-50, 500] } },
  { name: 'C', a: 0.6, b: 0.01, range: { 'wire-wound': [-196, 600], film: [-50, 600] } },
]

/**
 * The tolerance of a class, by its name.
 *
 * Symbols  none
 * Source   `TOLERANCE_CLASSES`
 * Valid    every name of a class
 * Throws   nothing
 */
export const toleranceClass = (name: ToleranceClass): Tolerance =>
  needed(
    TOLERANCE_CLASSES.find((candidate) => candidate.name === name),
    `tolerance class ${name}`,
  )

/**
 * Tolerance of a class at a temperature.
 *
 *   tolerance = a + b |t|
 *
 * Symbols  t temperature, degC; tolerance in kelvin
 * Source   IEC 60751:2022, Table 3 (number from memory)
 * Valid    the range of the class for the construction, see `TOLERANCE_CLASSES`
 * Throws   ThermometryError 'outside-range' outside that range
 */
export function classTolerance(name: ToleranceClass, construction: Construction, t: number): number {
  const found = toleranceClass(name)
  const [low, high] = found.range[construction]
  if (!(t >= low && t <= high)) {
    throw new ThermometryError(
      'outside-range',
      said('outside-tolerance-class', { name, construction, low, high, t }),
      { name, construction, t, low, high },
    )
  }
  return found.a + found.b * Math.abs(t)
}

/**
 * The classes that a deviation at a temperature keeps to, the strictest first, uncertainty not taken into account.
 *
 * Symbols  t temperature, degC; deviation of the thermometer from the standard's relation, kelvin
 * Source   IEC 60751:2022, Table 3 (number from memory)
 * Valid    any temperature; a class whose range does not hold there is left out
 * Throws   nothing
 */
export function classesKept(construction: Construction, t: number, deviationK: number): ToleranceClass[] {
  return TOLERANCE_CLASSES.filter(({ a, b, range }) => {
    const [low, high] = range[construction]
    return t >= low && t <= high && Math.abs(deviationK) <= a + b * Math.abs(t)
  }).map(({ name }) => name)
}
