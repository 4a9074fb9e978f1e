import { addScaled } from './uncertainty-draws.ts'

/** What is left of a response below this part of its largest number adds nothing to any digit of u that is shown. */
const NOTHING_LEFT = 1e-6

/** Sums of columns, one for each row of weights: into[i] += Σ_j w_ij column_j. */
export type Response = (columns: readonly Float64Array[], into: readonly Float64Array[]) => void

/**
 * Applies a matrix of weights to columns of errors. The responses of a curve to its points have no more dimensions than the curve
 * has parameters, however many points there are: the columns are brought to those first, and the rows made of them.
 *
 *   W ≈ P B,  B some of the rows of W, P their parts in each row
 *
 * Source: elimination with full pivoting, stopped where nothing is left (G. H. Golub, C. F. Van Loan, Matrix Computations, 3.4;
 * from memory).
 */
export function responseOf(weights: readonly (readonly number[])[]): Response {
  const rest = weights.map((row) => [...row])
  const parts: number[][] = weights.map(() => [])
  const basis: number[][] = []
  let least = 0
  for (;;) {
    const { row, column, size } = largestIn(rest)
    if (basis.length === 0) least = NOTHING_LEFT * size
    if (size <= least) break
    const pivot = [...rest[row]!]
    basis.push(pivot)
    rest.forEach((own, i) => {
      const part = own[column]! / pivot[column]!
      parts[i]!.push(part)
      pivot.forEach((value, j) => {
        own[j] = own[j]! - part * value
      })
    })
  }
  let scratch: Float64Array[] = []
  return (columns, into) => {
    const count = into[0]?.length ?? 0
    if (scratch[0]?.length !== count) scratch = basis.map(() => new Float64Array(count))
    basis.forEach((row, b) => {
      const sum = scratch[b]!.fill(0)
      row.forEach((weight, j) => {
        addScaled(sum, columns[j]!, weight)
      })
    })
    into.forEach((out, i) => {
      parts[i]!.forEach((part, b) => {
        addScaled(out, scratch[b]!, part)
      })
    })
  }
}

function largestIn(rows: readonly (readonly number[])[]): { row: number; column: number; size: number } {
  const found = { row: 0, column: 0, size: 0 }
  rows.forEach((values, row) => {
    values.forEach((value, column) => {
      if (Math.abs(value) > found.size) Object.assign(found, { row, column, size: Math.abs(value) })
    })
  })
  return found
}
