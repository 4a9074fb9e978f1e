import { allanDeviations } from '../../app/statistics/allan.ts'
import { readExpression } from '../../app/statistics/expression-text.ts'
import { columnLeastSquares } from '../../app/statistics/least-squares.ts'
import { modelOf } from '../../app/statistics/model.ts'
import { propagateDistributions } from '../../app/statistics/monte-carlo.ts'
import { polynomialFit } from '../../app/statistics/polynomial.ts'
import { type Random, seededRandom } from '../../app/statistics/random.ts'
import { describeWindow } from '../../app/statistics/window.ts'
import type { Row } from './row.ts'

const ROUNDS = 9

/** Median time of each of two ways, taken in turn so that both see the same machine; ms. */
function inTurn(ours: () => unknown, other: () => unknown): { ours: number; other: number } {
  const times = { ours: [] as number[], other: [] as number[] }
  for (let round = 0; round < ROUNDS + 2; round++) {
    for (const [name, way] of [
      ['ours', ours],
      ['other', other],
    ] as const) {
      const start = performance.now()
      way()
      // The first rounds only warm up.
      if (round >= 2) times[name].push(performance.now() - start)
    }
  }
  const median = (list: number[]) => list.sort((p, q) => p - q)[list.length >> 1]!
  return { ours: median(times.ours), other: median(times.other) }
}

function rowOf(
  name: string,
  ours: () => unknown,
  other: () => unknown,
  goal: number | undefined,
  note: string,
): Row {
  const taken = inTurn(ours, other)
  const ratio = taken.other / taken.ours
  return {
    name,
    ...taken,
    unit: 'ms',
    ratio,
    goal: goal === undefined ? '' : `>= ${goal}`,
    met: goal === undefined ? null : ratio >= goal,
    note,
  }
}

/** Weighted normal equations as they are written on paper: (Xᵀ W X) b = Xᵀ W y, in arrays of arrays. */
function normalEquations(x: readonly number[], y: readonly number[], w: readonly number[], degree: number) {
  const design = x.map((value) => Array.from({ length: degree + 1 }, (_, k) => value ** k))
  const transposed = Array.from({ length: degree + 1 }, (_, k) => design.map((row) => row[k]!))
  const weighted = design.map((row, i) => row.map((value) => value * w[i]!))
  const product = (a: readonly number[][], b: readonly number[][]) =>
    a.map((row) => b[0]!.map((_, j) => row.reduce((sum, value, k) => sum + value * b[k]![j]!, 0)))
  const left = product(transposed, weighted)
  const right = product(
    transposed,
    y.map((value, i) => [value * w[i]!]),
  )
  const inverse = inverted(left)
  const coefficients = product(inverse, right).map(([value]) => value!)
  const residuals = product(
    design,
    coefficients.map((value) => [value]),
  ).map(([value], i) => y[i]! - value!)
  const chi = residuals.reduce((sum, residual, i) => sum + w[i]! * residual * residual, 0)
  const variance = chi / (x.length - degree - 1)
  return { coefficients, covariance: inverse.map((row) => row.map((value) => value * variance)), residuals }
}

function inverted(matrix: readonly number[][]): number[][] {
  const n = matrix.length
  const work = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))])
  for (let column = 0; column < n; column++) {
    let pivot = column
    for (let i = column + 1; i < n; i++) {
      if (Math.abs(work[i]![column]!) > Math.abs(work[pivot]![column]!)) pivot = i
    }
    const held = work[column]!
    work[column] = work[pivot]!
    work[pivot] = held
    const divisor = work[column]![column]!
    work[column] = work[column]!.map((value) => value / divisor)
    for (let i = 0; i < n; i++) {
      if (i === column) continue
      const factor = work[i]![column]!
      work[i] = work[i]!.map((value, j) => value - factor * work[column]![j]!)
    }
  }
  return work.map((row) => row.slice(n))
}

function leastSquaresRows(random: Random): Row[] {
  const n = 100_000
  const degree = 3
  const x = Float64Array.from({ length: n }, (_, i) => (2 * i) / n - 1)
  const y = x.map((value) => 1 + value * (2 - value * (0.5 + value)) + 0.01 * random.normal())
  const w = x.map(() => 1 + random.uniform())
  const plain = { x: Array.from(x), y: Array.from(y), w: Array.from(w) }
  const columns = Array.from({ length: degree + 1 }, (_, k) => x.map((value) => value ** k))
  const naive = () => normalEquations(plain.x, plain.y, plain.w, degree)
  const gap = Math.max(
    ...naive().coefficients.map((value, k) =>
      Math.abs(value - columnLeastSquares(columns, y, w).coefficients[k]!),
    ),
  )
  const note = `QR with covariance, leverages and leave-one-out residuals against normal equations in arrays of arrays`
  return [
    rowOf(
      'weighted least squares, 1e5 points, 4 columns',
      () => columnLeastSquares(columns, y, w),
      naive,
      5,
      `${note}; the coefficients differ by ${gap.toExponential(1)}`,
    ),
    rowOf(
      'cubic fit, 1e5 points, powers and all',
      () => polynomialFit(x, y, degree, { weights: w }),
      naive,
      undefined,
      note,
    ),
  ]
}

function monteCarloRows(): Row[] {
  const names = ['a', 'b', 'c', 'd']
  const inputs = names.map((name) => ({
    name,
    value: 1,
    distribution: { kind: 'normal' as const, sd: 0.1 },
  }))
  const model = modelOf(readExpression('a*b/c + d^2', names), 4)
  const trials = 1_000_000
  const loop = () => {
    const random = seededRandom(1)
    const values: number[] = []
    for (let k = 0; k < trials; k++) {
      const [a, b, c, d] = [0, 0, 0, 0].map(() => 1 + 0.1 * random.normal())
      values.push((a! * b!) / c! + d! * d!)
    }
    values.sort((p, q) => p - q)
    return [values[Math.floor(0.025 * trials)], values[Math.floor(0.975 * trials)]]
  }
  /** The same with everything that typed arrays give, so that selecting alone is seen. */
  const typedLoop = () => {
    const random = seededRandom(1)
    const values = new Float64Array(trials)
    for (let k = 0; k < trials; k++) {
      const a = 1 + 0.1 * random.normal()
      const b = 1 + 0.1 * random.normal()
      const c = 1 + 0.1 * random.normal()
      const d = 1 + 0.1 * random.normal()
      values[k] = (a * b) / c + d * d
    }
    values.sort()
    return [values[Math.floor(0.025 * trials)], values[Math.floor(0.975 * trials)]]
  }
  const ours = () => propagateDistributions({ inputs, model }, { trials })
  return [
    rowOf('Monte Carlo, 1e6 trials, 95 % interval', ours, loop, 1.5, 'against a trial loop with a full sort'),
    rowOf(
      'the same against typed arrays',
      ours,
      typedLoop,
      undefined,
      'model written into the loop, native sort; ours reads the model from its expression and finds the shortest interval too',
    ),
  ]
}

function windowRows(random: Random): Row[] {
  const window = Float64Array.from({ length: 100_000 }, (_, i) => 25 + 1e-6 * i + 1e-3 * random.normal())
  const plain = Array.from(window)
  const directAllan = () => {
    const points: number[] = []
    for (let m = 1; 2 * m <= 16_384; m *= 2) {
      let sum = 0
      for (let j = 0; j + 2 * m <= 16_384; j++) {
        const first = plain.slice(j, j + m).reduce((total, value) => total + value, 0)
        const second = plain.slice(j + m, j + 2 * m).reduce((total, value) => total + value, 0)
        sum += (second - first) ** 2
      }
      points.push(Math.sqrt(sum / (2 * m * m * (16_384 - 2 * m + 1))))
    }
    return points
  }
  const part = window.subarray(0, 16_384)
  const directStatistics = () => {
    const n = plain.length
    const mean = plain.reduce((sum, value) => sum + value, 0) / n
    const sd = Math.sqrt(
      plain.map((value) => (value - mean) ** 2).reduce((sum, value) => sum + value, 0) / (n - 1),
    )
    const middle = (n - 1) / 2
    const drift =
      plain.map((value, i) => (value - mean) * (i - middle)).reduce((sum, value) => sum + value, 0) /
      plain.map((_, i) => (i - middle) ** 2).reduce((sum, value) => sum + value, 0)
    return [mean, sd, drift]
  }
  return [
    rowOf(
      'overlapping Allan deviation, 16 384 values, octaves',
      () => allanDeviations(part, 1),
      directAllan,
      undefined,
      'running sum against averaging each pair of stretches anew',
    ),
    rowOf(
      'window of 1e5 values',
      () => describeWindow(window, 1),
      directStatistics,
      undefined,
      'ours adds the effective number, the autocorrelation of the residuals and a sum in double-double',
    ),
  ]
}

/** Least squares, Monte Carlo, Allan deviation and window statistics against the straightforward ways. */
export async function bench(): Promise<Row[]> {
  const random = seededRandom(2)
  return [...leastSquaresRows(random), ...monteCarloRows(), ...windowRows(random)]
}
