/**
 * Condition number of an upper triangle: largest over smallest singular value, columns scaled to length 1.
 *
 *   κ = σ_max/σ_min
 *
 * Symbols  R upper triangle given as columns (column j holds j + 1 entries or more); κ dimensionless
 * Source   G. H. Golub, C. F. Van Loan, Matrix Computations, section on one-sided Jacobi (from memory);
 *          scaling to unit columns after A. van der Sluis, Numerische Mathematik 14 (1969) 14 (from memory)
 * Valid    no zero column
 * Throws   nothing
 */
export function conditionOfTriangle(r: readonly ArrayLike<number>[]): number {
  const p = r.length
  const columns = r.map((column, j) => {
    let length = 0
    for (let i = 0; i <= j; i++) length = Math.hypot(length, column[i]!)
    return Float64Array.from({ length: p }, (_, i) => (i <= j ? column[i]! / length : 0))
  })
  for (let sweep = 0; sweep < 60; sweep++) {
    let turned = false
    for (let a = 0; a < p - 1; a++) {
      for (let b = a + 1; b < p; b++) turned = rotate(columns[a]!, columns[b]!) || turned
    }
    if (!turned) break
  }
  const sizes = columns.map((column) => Math.hypot(...column))
  return Math.max(...sizes) / Math.min(...sizes)
}

/** Makes two columns orthogonal by a rotation; false when they already are. */
function rotate(x: Float64Array, y: Float64Array): boolean {
  let xx = 0
  let yy = 0
  let xy = 0
  for (let i = 0; i < x.length; i++) {
    xx += x[i]! * x[i]!
    yy += y[i]! * y[i]!
    xy += x[i]! * y[i]!
  }
  if (Math.abs(xy) <= 1e-15 * Math.sqrt(xx * yy)) return false
  const zeta = (yy - xx) / (2 * xy)
  const t = (zeta < 0 ? -1 : 1) / (Math.abs(zeta) + Math.hypot(1, zeta))
  const cos = 1 / Math.hypot(1, t)
  const sin = cos * t
  for (let i = 0; i < x.length; i++) {
    const held = x[i]!
    x[i] = cos * held - sin * y[i]!
    y[i] = sin * held + cos * y[i]!
  }
  return true
}
