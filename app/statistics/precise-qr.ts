import { at, first, zip } from '../base/lists.ts'
import {
  add,
  type DoubleDouble,
  divide,
  fromDecimalText,
  multiply,
  squareRoot,
  subtract,
} from './compensated.ts'
import { addMultiple, addSquares, plusProducts } from './vectors.ts'

/** A column of double-doubles, its two halves apart so that both are plain typed arrays. */
export interface PreciseColumn {
  readonly hi: Float64Array
  readonly lo: Float64Array
}

export interface PreciseQr {
  /** Upper triangle R of the scaled columns, as columns. */
  readonly r: readonly PreciseColumn[]
  /** Powers of two by which the columns were divided. */
  readonly scales: Float64Array
  /** First column that depends on those before it, or −1. */
  readonly dependentAt: number
  /** Least-squares solution for the scaled columns. */
  readonly solution: readonly DoubleDouble[]
  /** Σ of the squared rows of Q, point by point. */
  readonly leverages: Float64Array
}

const SPLITTER = 134217729

/**
 * Doubles as a column of double-doubles.
 *
 * Symbols  values; decimal tells whether each stands for the decimal it prints as
 * Source   fromDecimalText
 * Valid    finite values
 * Throws   nothing
 */
export function toPrecise(values: ArrayLike<number>, decimal: boolean): PreciseColumn {
  const hi = Float64Array.from(values)
  const lo = new Float64Array(hi.length)
  if (decimal) {
    for (let i = 0; i < hi.length; i++) {
      const value = fromDecimalText(hi[i]!)
      hi[i] = value.hi
      lo[i] = value.lo
    }
  }
  return { hi, lo }
}

/** Σ a_i b_i from a place on, carried to twice a double's digits. */
function dot(a: PreciseColumn, b: PreciseColumn, from: number): DoubleDouble {
  const { hi: aHi, lo: aLo } = a
  const { hi: bHi, lo: bLo } = b
  let sum = 0
  let rest = 0
  for (let i = from; i < aHi.length; i++) {
    const x = aHi[i]!
    const y = bHi[i]!
    const product = x * y
    const xBig = x * SPLITTER
    const x1 = xBig - (xBig - x)
    const x2 = x - x1
    const yBig = y * SPLITTER
    const y1 = yBig - (yBig - y)
    const y2 = y - y1
    const error = x1 * y1 - product + x1 * y2 + x2 * y1 + x2 * y2 + (x * bLo[i]! + aLo[i]! * y)
    const next = sum + product
    const back = next - sum
    rest += sum - (next - back) + (product - back) + error
    sum = next
  }
  const hi = sum + rest
  return { hi, lo: rest - (hi - sum) }
}

/** y ← y − f x from a place on. */
function subtractMultiple(y: PreciseColumn, f: DoubleDouble, x: PreciseColumn, from: number): void {
  const fBig = f.hi * SPLITTER
  const f1 = fBig - (fBig - f.hi)
  const f2 = f.hi - f1
  for (let i = from; i < y.hi.length; i++) {
    const v = x.hi[i]!
    const product = f.hi * v
    const vBig = v * SPLITTER
    const v1 = vBig - (vBig - v)
    const v2 = v - v1
    const productLow = f1 * v1 - product + f1 * v2 + f2 * v1 + f2 * v2 + (f.hi * x.lo[i]! + f.lo * v)
    const a = y.hi[i]!
    const sum = a - product
    const back = sum - a
    const error = a - (sum - back) - (product + back)
    const low = error + (y.lo[i]! - productLow)
    const hi = sum + low
    y.hi[i] = hi
    y.lo[i] = low - (hi - sum)
  }
}

/**
 * One number of a column.
 *
 * Symbols  column, i its place
 * Source   none
 * Valid    the place lies in the column
 * Throws   nothing
 */
export function entryAt(column: PreciseColumn, i: number): DoubleDouble {
  return { hi: column.hi[i]!, lo: column.lo[i]! }
}

function put(column: PreciseColumn, i: number, value: DoubleDouble): void {
  column.hi[i] = value.hi
  column.lo[i] = value.lo
}

function powerOfTwoNear(size: number): number {
  return size > 0 && Number.isFinite(size) ? 2 ** Math.round(Math.log2(size)) : 1
}

/**
 * Householder QR of scaled columns in double-double, with the least-squares solution.
 *
 *   A = Q R,  R x = Qᵀ y
 *
 * Each column is first divided by the power of two next to its norm, which costs no digit. A column
 * whose part outside the span of those before it is below `tolerance` of its length is dependent.
 *
 * Symbols  A columns (n × p), y right side, both with the square roots of the weights already in them;
 *          both are overwritten
 * Source   G. H. Golub, C. F. Van Loan, Matrix Computations, algorithms 5.1.1 and 5.2.1 (from memory)
 * Valid    n ≥ p ≥ 1
 * Throws   nothing; dependence is reported in `dependentAt`
 */
export function preciseQr(columns: readonly PreciseColumn[], y: PreciseColumn, tolerance: number): PreciseQr {
  const n = y.hi.length
  const p = columns.length
  const scales = new Float64Array(p)
  const r: PreciseColumn[] = []
  const betas: DoubleDouble[] = []
  let dependentAt = -1
  for (const [j, column] of columns.entries()) {
    const scale = powerOfTwoNear(Math.sqrt(dot(column, column, 0).hi))
    scales[j] = scale
    for (const half of [column.hi, column.lo]) half.set(half.map((x) => x / scale))
  }
  for (const [j, column] of columns.entries()) {
    const whole = squareRoot(dot(column, column, 0)).hi
    const length = squareRoot(dot(column, column, j))
    if (!(length.hi > tolerance * whole)) {
      dependentAt = j
      r.push({ hi: column.hi.slice(0, p), lo: column.lo.slice(0, p) })
      break
    }
    const head = entryAt(column, j)
    const diagonal = head.hi > 0 ? { hi: -length.hi, lo: -length.lo } : length
    const top = { hi: column.hi.slice(0, p), lo: column.lo.slice(0, p) }
    put(top, j, diagonal)
    r.push(top)
    put(column, j, subtract(head, diagonal))
    const beta = divide({ hi: 2, lo: 0 }, dot(column, column, j))
    betas.push(beta)
    for (const later of columns.slice(j + 1)) {
      subtractMultiple(later, multiply(beta, dot(column, later, j)), column, j)
    }
    subtractMultiple(y, multiply(beta, dot(column, y, j)), column, j)
  }
  return {
    r,
    scales,
    dependentAt,
    solution: dependentAt < 0 ? solveUpper(r, y) : [],
    leverages: dependentAt < 0 ? leveragesOf(columns, betas) : new Float64Array(n),
  }
}

/** Back substitution: R x = right side. */
function solveUpper(r: readonly PreciseColumn[], right: PreciseColumn, size = r.length): DoubleDouble[] {
  let x: DoubleDouble[] = []
  for (let i = size - 1; i >= 0; i--) {
    let rest = entryAt(right, i)
    for (const [column, known] of zip(r.slice(i + 1, size), x)) {
      rest = subtract(rest, multiply(entryAt(column, i), known))
    }
    x = [divide(rest, entryAt(at(r, i), i)), ...x]
  }
  return x
}

/**
 * How a dependent column is made of those before it.
 *
 *   R₁₁ c = r₁ⱼ
 *
 * Symbols  c factors of the earlier (scaled) columns
 * Source   as preciseQr
 * Valid    `dependentAt` ≥ 0
 * Throws   nothing
 */
export function dependenceOf(qr: PreciseQr): number[] {
  const j = qr.dependentAt
  return j > 0 ? solveUpper(qr.r, at(qr.r, j), j).map((c) => c.hi) : []
}

/**
 * Inverse of R as rows of double-doubles.
 *
 * Symbols  R upper triangle of the scaled columns
 * Source   as preciseQr
 * Valid    no dependent column
 * Throws   nothing
 */
export function inverseOfR(qr: PreciseQr): DoubleDouble[][] {
  const p = qr.r.length
  const zero = { hi: 0, lo: 0 }
  const columns = qr.r.map((_, j) => {
    const unit = { hi: new Float64Array(p), lo: new Float64Array(p) }
    unit.hi[j] = 1
    return solveUpper(qr.r, unit, j + 1)
  })
  return qr.r.map((_, i) => columns.map((column, j) => (i <= j ? at(column, i) : zero)))
}

/** Rows of Q squared and summed. The reflectors are exact to far below a double, so doubles are enough here. */
function leveragesOf(columns: readonly PreciseColumn[], betas: readonly DoubleDouble[]): Float64Array {
  const n = first(columns).hi.length
  const leverages = new Float64Array(n)
  const reflectors = zip(columns, betas).map(([{ hi }, beta]) => ({ v: hi, beta: beta.hi }))
  for (const j of reflectors.keys()) {
    const q = new Float64Array(n)
    q[j] = 1
    for (const [k, { v, beta }] of [...reflectors.entries()].reverse()) {
      const [tail, below] = [q.subarray(k), v.subarray(k)]
      addMultiple(tail, -beta * plusProducts(0, below, tail), below)
    }
    addSquares(leverages, q)
  }
  return leverages
}

/**
 * Product of a row and a column of double-doubles.
 *
 * Symbols  a, b double-doubles; result Σ a_i b_i
 * Source   as preciseQr
 * Valid    equal lengths
 * Throws   nothing
 */
export function sumOfProducts(a: readonly DoubleDouble[], b: readonly DoubleDouble[]): DoubleDouble {
  let sum: DoubleDouble = { hi: 0, lo: 0 }
  for (let i = 0; i < a.length; i++) sum = add(sum, multiply(a[i]!, b[i]!))
  return sum
}
