import { at, columnOf, zip } from '../base/lists.ts'
import { lessProducts } from './vectors.ts'

/** A matrix by rows. */
export type Matrix = readonly (readonly number[])[]

/** What becomes of a matrix that is not positive, or only nearly. */
export interface PivotRules {
  /**
   * The diagonal entry of the triangle: `left` is what the rows before leave of `own`, the matrix's own entry. Where it is
   * zero its column is.
   */
  readonly pivot: (left: number, own: number, row: number) => number
  /** Told what the rows before leave of an entry whose column is zero. */
  readonly leftOver?: (left: number, row: number) => void
}

/** A pivot that rounding has left at or below zero becomes zero. */
const ROUNDED: PivotRules = { pivot: (left) => (left > 0 ? Math.sqrt(left) : 0) }

/**
 * Lower triangle L with L Lᵀ = A, by rows. A column whose pivot is zero is zero.
 *
 * Symbols  A symmetric matrix without negative eigenvalues, by its size and its entries (i, j) with j ≤ i
 * Source   G. H. Golub, C. F. Van Loan, Matrix Computations, 4.2 (from memory)
 * Valid    any size
 * Throws   what the rules throw
 */
export function triangleOf(
  size: number,
  entry: (i: number, j: number) => number,
  { pivot, leftOver }: PivotRules = ROUNDED,
): number[][] {
  const lower: number[][] = []
  for (let i = 0; i < size; i++) {
    const row = new Array<number>(size).fill(0)
    for (let j = 0; j < i; j++) {
      const above = lower[j]!
      const left = lessProducts(entry(i, j), row, above, j)
      const diagonal = above[j]!
      if (diagonal === 0) leftOver?.(left, i)
      else row[j] = left / diagonal
    }
    const own = entry(i, i)
    row[i] = pivot(lessProducts(own, row, row, i), own, i)
    lower.push(row)
  }
  return lower
}

/**
 * Lower triangle of a matrix given by rows.
 *
 * Symbols  A, L as triangleOf; only the lower half of A is read
 * Source   as triangleOf
 * Valid    any size
 * Throws   nothing
 */
export function lowerTriangle(matrix: Matrix, rules = ROUNDED): number[][] {
  return triangleOf(matrix.length, (i, j) => matrix[i]![j]!, rules)
}

/**
 * Solves L z = b.
 *
 * Symbols  L lower triangle by rows, b right-hand side
 * Source   G. H. Golub, C. F. Van Loan, Matrix Computations, 3.1 (from memory)
 * Valid    no zero on the diagonal of L
 * Throws   nothing
 */
export function solveLower(lower: Matrix, b: readonly number[]): number[] {
  const z: number[] = []
  for (const [i, [row, right]] of zip(lower, b).entries()) z.push(lessProducts(right, row, z, i) / at(row, i))
  return z
}

/**
 * Solves Lᵀ x = z.
 *
 * Symbols  L lower triangle by rows, z right-hand side
 * Source   as solveLower
 * Valid    no zero on the diagonal of L
 * Throws   nothing
 */
export function solveLowerTransposed(lower: Matrix, z: readonly number[]): number[] {
  let x: number[] = []
  for (let i = z.length - 1; i >= 0; i--) {
    const below = columnOf(lower.slice(i + 1), i)
    x = [lessProducts(at(z, i), below, x, x.length) / at(at(lower, i), i), ...x]
  }
  return x
}
