/** A matrix by rows. */
export type Matrix = readonly (readonly number[])[]

/**
 * Lower triangle L with L Lᵀ = A. A pivot that rounding has left at or below zero becomes zero, and its column with it.
 *
 * Symbols  A symmetric matrix without negative eigenvalues, by rows; only its lower half is read
 * Source   G. H. Golub, C. F. Van Loan, Matrix Computations, 4.2 (from memory)
 * Valid    any size
 * Throws   nothing
 */
export function lowerTriangle(matrix: Matrix): number[][] {
  const lower = matrix.map(() => new Array<number>(matrix.length).fill(0))
  for (let i = 0; i < matrix.length; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i]![j]!
      for (let k = 0; k < j; k++) sum -= lower[i]![k]! * lower[j]![k]!
      if (i === j) lower[i]![i] = sum > 0 ? Math.sqrt(sum) : 0
      else lower[i]![j] = lower[j]![j] === 0 ? 0 : sum / lower[j]![j]!
    }
  }
  return lower
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
  for (let i = 0; i < b.length; i++) {
    const row = lower[i]!
    let sum = b[i]!
    for (let k = 0; k < i; k++) sum -= row[k]! * z[k]!
    z.push(sum / row[i]!)
  }
  return z
}
