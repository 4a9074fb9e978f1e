import type { Its90Section } from '../kinds/conversion.ts'
import { said } from '../messages/said.ts'
import { ThermometryError } from './errors.ts'

export type CoefficientName = 'a' | 'b' | 'c' | 'd' | 'c1' | 'c2' | 'c3' | 'c4' | 'c5'
export const COEFFICIENT_NAMES: readonly CoefficientName[] = [
  'a',
  'b',
  'c',
  'd',
  'c1',
  'c2',
  'c3',
  'c4',
  'c5',
]

/** Form of a deviation function: powers of ln W (3.3.1), (W - 1) ln W (3.3.1.3), powers of W - 1 (3.3.2, 3.3.3). */
export type DeviationForm = 'log-powers' | 'log' | 'powers'

/** Which reference function a subrange uses; 3.3.3 changes over at 273.16 K. */
export type ReferenceFunction = 'low' | 'high' | 'both'

export interface Subrange {
  readonly section: Its90Section
  readonly lowC: number
  readonly highC: number
  readonly form: DeviationForm
  readonly reference: ReferenceFunction
  readonly coefficients: readonly CoefficientName[]
  /** Exponent of ln W in the first c term, less one. */
  readonly n: number
  /** Fixed points, besides the triple point of water, at which the coefficients are found. */
  readonly fixedPoints: readonly string[]
}

/** ITS-90 (1990), section 3.3 and Table 5: the eleven platinum subranges. */
export const SUBRANGES: readonly Subrange[] = [
  {
    section: '3.3.1',
    lowC: -259.3467,
    highC: 0.01,
    form: 'log-powers',
    reference: 'low',
    coefficients: ['a', 'b', 'c1', 'c2', 'c3', 'c4', 'c5'],
    n: 2,
    fixedPoints: ['e-H2', 'e-H2 near 17 K', 'e-H2 near 20.3 K', 'Ne', 'O2', 'Ar', 'Hg'],
  },
  {
    section: '3.3.1.1',
    lowC: -248.5939,
    highC: 0.01,
    form: 'log-powers',
    reference: 'low',
    coefficients: ['a', 'b', 'c1', 'c2', 'c3'],
    n: 0,
    fixedPoints: ['e-H2', 'Ne', 'O2', 'Ar', 'Hg'],
  },
  {
    section: '3.3.1.2',
    lowC: -218.7916,
    highC: 0.01,
    form: 'log-powers',
    reference: 'low',
    coefficients: ['a', 'b', 'c1'],
    n: 1,
    fixedPoints: ['O2', 'Ar', 'Hg'],
  },
  {
    section: '3.3.1.3',
    lowC: -189.3442,
    highC: 0.01,
    form: 'log',
    reference: 'low',
    coefficients: ['a', 'b'],
    n: 0,
    fixedPoints: ['Ar', 'Hg'],
  },
  {
    section: '3.3.2',
    lowC: 0,
    highC: 961.78,
    form: 'powers',
    reference: 'high',
    coefficients: ['a', 'b', 'c', 'd'],
    n: 0,
    fixedPoints: ['Sn', 'Zn', 'Al', 'Ag'],
  },
  {
    section: '3.3.2.1',
    lowC: 0,
    highC: 660.323,
    form: 'powers',
    reference: 'high',
    coefficients: ['a', 'b', 'c'],
    n: 0,
    fixedPoints: ['Sn', 'Zn', 'Al'],
  },
  {
    section: '3.3.2.2',
    lowC: 0,
    highC: 419.527,
    form: 'powers',
    reference: 'high',
    coefficients: ['a', 'b'],
    n: 0,
    fixedPoints: ['Sn', 'Zn'],
  },
  {
    section: '3.3.2.3',
    lowC: 0,
    highC: 231.928,
    form: 'powers',
    reference: 'high',
    coefficients: ['a', 'b'],
    n: 0,
    fixedPoints: ['In', 'Sn'],
  },
  {
    section: '3.3.2.4',
    lowC: 0,
    highC: 156.5985,
    form: 'powers',
    reference: 'high',
    coefficients: ['a'],
    n: 0,
    fixedPoints: ['In'],
  },
  {
    section: '3.3.2.5',
    lowC: 0,
    highC: 29.7646,
    form: 'powers',
    reference: 'high',
    coefficients: ['a'],
    n: 0,
    fixedPoints: ['Ga'],
  },
  {
    section: '3.3.3',
    lowC: -38.8344,
    highC: 29.7646,
    form: 'powers',
    reference: 'both',
    coefficients: ['a', 'b'],
    n: 0,
    fixedPoints: ['Hg', 'Ga'],
  },
]

/**
 * The subrange of a section number.
 *
 * Symbols  section, the number of the section of ITS-90 that defines the subrange
 * Source   ITS-90, Metrologia 27, 3-10 (1990), section 3.3 and Table 5
 * Valid    3.3.1, 3.3.1.1 to 3.3.1.3, 3.3.2, 3.3.2.1 to 3.3.2.5, 3.3.3
 * Throws   ThermometryError 'unknown-subrange'
 */
export function subrange(section: string): Subrange {
  const found = SUBRANGES.find((candidate) => candidate.section === section)
  if (!found) {
    throw new ThermometryError(
      'unknown-subrange',
      said('no-such-subrange', { section, known: SUBRANGES.map((s) => s.section).join(', ') }),
      { section },
    )
  }
  return found
}

/**
 * The subranges that a set of coefficients means when no section is named, one above and one below 0 degC at most.
 * Where several have the same coefficients, the widest on each side is taken: a alone is 3.3.2.4; a and b are 3.3.2.2
 * above 0 degC and 3.3.1.3 below it. The narrower ones and 3.3.3 have to be named.
 *
 * Symbols  present, the names of the coefficients given
 * Source   ITS-90, Metrologia 27, 3-10 (1990), Table 5
 * Valid    the coefficients of one row of Table 5
 * Throws   ThermometryError 'missing-coefficient' where no subrange has just these coefficients
 */
export function subrangesFor(present: readonly CoefficientName[]): readonly Subrange[] {
  const matching = SUBRANGES.filter(
    ({ coefficients, reference }) =>
      reference !== 'both' &&
      coefficients.length === present.length &&
      coefficients.every((name) => present.includes(name)),
  )
  const widest = (['high', 'low'] as const).flatMap((side) => {
    const candidates = matching.filter(({ reference }) => reference === side)
    return candidates.length === 0
      ? []
      : [candidates.reduce((best, next) => (next.highC - next.lowC > best.highC - best.lowC ? next : best))]
  })
  if (widest.length === 0) {
    const given = present.length === 0 ? 'none' : present.join(', ')
    throw new ThermometryError('missing-coefficient', said('no-subrange-of-coefficients', { given }), {
      present,
    })
  }
  return widest
}

/**
 * Checks that a set of coefficients is the one its subrange needs, so that a slip of typing is not taken for a zero.
 *
 * Symbols  range, a subrange; present, names of the coefficients given; zero, those among them whose value is 0
 * Source   ITS-90, Metrologia 27, 3-10 (1990), Table 5
 * Valid    every subrange; a coefficient that the subrange holds at zero may be given as 0
 * Throws   ThermometryError 'missing-coefficient' | 'unknown-coefficient'
 */
export function checkCoefficients(
  range: Subrange,
  present: readonly CoefficientName[],
  zero: readonly CoefficientName[],
): void {
  const missing = range.coefficients.filter((name) => !present.includes(name))
  const needs = `Subrange ${range.section} needs ${range.coefficients.join(', ')}`
  if (missing.length > 0) {
    throw new ThermometryError(
      'missing-coefficient',
      said('coefficients-missing', { needs, missing: missing.join(', ') }),
      {
        missing,
      },
    )
  }
  const surplus = present.filter((name) => !range.coefficients.includes(name) && !zero.includes(name))
  if (surplus.length > 0) {
    throw new ThermometryError(
      'unknown-coefficient',
      said('coefficients-surplus', { needs, surplus: surplus.join(', ') }),
      {
        surplus,
      },
    )
  }
}
