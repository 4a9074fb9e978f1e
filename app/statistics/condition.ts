import { zip } from '../base/lists.ts'
import { plusProducts } from './vectors.ts'

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
    const own = Array.from(column).slice(0, j + 1)
    const length = own.reduce((sum, x) => Math.hypot(sum, x), 0)
    const scaled = new Float64Array(p)
    scaled.set(own.map((x) => x / length))
    return scaled
  })
  for (let sweep = 0; sweep < 60; sweep++) {
    let turned = false
    for (const [a, x] of columns.entries()) {
      for (const y of columns.slice(a + 1)) turned = rotate(x, y) || turned
    }
    if (!turned) break
  }
  const sizes = columns.map((column) => Math.hypot(...column))
  return Math.max(...sizes) / Math.min(...sizes)
}

const products = (a: Float64Array, b: Float64Array) => plusProducts(0, a, b)

/** Makes two columns orthogonal by a rotation; false when they already are. */
function rotate(x: Float64Array, y: Float64Array): boolean {
  const [xx, yy, xy] = [products(x, x), products(y, y), products(x, y)]
  if (Math.abs(xy) <= 1e-15 * Math.sqrt(xx * yy)) return false
  const zeta = (yy - xx) / (2 * xy)
  const t = (zeta < 0 ? -1 : 1) / (Math.abs(zeta) + Math.hypot(1, zeta))
  const cos = 1 / Math.hypot(1, t)
  const sin = cos * t
  for (const [i, [ownX, ownY]] of zip(x, y).entries()) {
    x[i] = cos * ownX - sin * ownY
    y[i] = sin * ownX + cos * ownY
  }
  return true
}
