/*
 * The innermost loops of the linear algebra here, over parts of columns. Each adds in the order of the places, so that a
 * result is the same to its last bit wherever the loop is used.
 */

/**
 * A value with the products of two columns added to it one by one.
 *
 *   s + Σ a_i b_i
 *
 * Symbols  s start; a, b columns; the first `count` places
 * Source   arithmetic
 * Valid    the places lie in the columns
 * Throws   nothing
 */
export function plusProducts(start: number, a: Float64Array, b: Float64Array, count = a.length): number {
  let sum = start
  for (let i = 0; i < count; i++) sum += a[i]! * b[i]!
  return sum
}

/**
 * A value with the products of two rows taken off it one by one, as in elimination.
 *
 *   s − Σ a_i b_i
 *
 * Symbols  s start; a, b rows; the first `count` places
 * Source   arithmetic
 * Valid    the places lie in the rows
 * Throws   nothing
 */
export function lessProducts(
  start: number,
  a: readonly number[],
  b: readonly number[],
  count: number,
): number {
  let rest = start
  for (let i = 0; i < count; i++) rest -= a[i]! * b[i]!
  return rest
}

/**
 * Sum of the products of two rows.
 *
 *   Σ a_i b_i
 *
 * Symbols  a, b rows of one length
 * Source   arithmetic
 * Valid    any; 0 for empty rows
 * Throws   nothing
 */
export function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!
  return sum
}

/**
 * Adds a multiple of one column to another in place.
 *
 *   y_i ← y_i + f x_i
 *
 * Symbols  y, x columns; f factor; the first `count` places
 * Source   arithmetic
 * Valid    the places lie in the columns
 * Throws   nothing
 */
export function addMultiple(y: Float64Array, factor: number, x: Float64Array, count = y.length): void {
  for (let i = 0; i < count; i++) y[i] = y[i]! + factor * x[i]!
}

/**
 * Adds the squares of a column to another, place by place.
 *
 *   y_i ← y_i + x_i²
 *
 * Symbols  y, x columns
 * Source   arithmetic
 * Valid    x at least as long as y
 * Throws   nothing
 */
export function addSquares(y: Float64Array, x: Float64Array): void {
  for (let i = 0; i < y.length; i++) y[i] = y[i]! + x[i]! * x[i]!
}
