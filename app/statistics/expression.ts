/** A model's expression as a small tree: what the budget differentiates and the Monte Carlo evaluates. */
export type Expression =
  | { readonly op: 'constant'; readonly value: number }
  | { readonly op: 'input'; readonly index: number }
  | { readonly op: UnaryName; readonly a: Expression }
  | { readonly op: BinaryName; readonly a: Expression; readonly b: Expression }

export type BinaryName =
  | 'add'
  | 'subtract'
  | 'multiply'
  | 'divide'
  | 'power'
  | 'atan2'
  | 'minimum'
  | 'maximum'

export type UnaryName =
  | 'negate'
  | 'sqrt'
  | 'cbrt'
  | 'exp'
  | 'expm1'
  | 'ln'
  | 'log1p'
  | 'log10'
  | 'log2'
  | 'sin'
  | 'cos'
  | 'tan'
  | 'asin'
  | 'acos'
  | 'atan'
  | 'sinh'
  | 'cosh'
  | 'tanh'
  | 'asinh'
  | 'acosh'
  | 'atanh'
  | 'abs'
  | 'sign'

interface UnaryFunction {
  readonly f: (x: number) => number
  /** Derivative with respect to the argument; absent where the function has none worth the name. */
  readonly slope?: (a: Expression) => Expression
}

const constant = (value: number): Expression => ({ op: 'constant', value })
const ONE = constant(1)
const ZERO = constant(0)

const isConstant = (x: Expression, value: number) => x.op === 'constant' && x.value === value

function add(a: Expression, b: Expression): Expression {
  if (isConstant(a, 0)) return b
  if (isConstant(b, 0)) return a
  return a.op === 'constant' && b.op === 'constant' ? constant(a.value + b.value) : { op: 'add', a, b }
}

function subtract(a: Expression, b: Expression): Expression {
  if (isConstant(b, 0)) return a
  if (isConstant(a, 0)) return negate(b)
  return a.op === 'constant' && b.op === 'constant' ? constant(a.value - b.value) : { op: 'subtract', a, b }
}

function negate(a: Expression): Expression {
  if (a.op === 'constant') return constant(0 - a.value)
  return a.op === 'negate' ? a.a : { op: 'negate', a }
}

function multiply(a: Expression, b: Expression): Expression {
  if (isConstant(a, 0) || isConstant(b, 0)) return ZERO
  if (isConstant(a, 1)) return b
  if (isConstant(b, 1)) return a
  return a.op === 'constant' && b.op === 'constant' ? constant(a.value * b.value) : { op: 'multiply', a, b }
}

function divide(a: Expression, b: Expression): Expression {
  if (isConstant(a, 0) && !isConstant(b, 0)) return ZERO
  if (isConstant(b, 1)) return a
  return a.op === 'constant' && b.op === 'constant' ? constant(a.value / b.value) : { op: 'divide', a, b }
}

function power(a: Expression, b: Expression): Expression {
  if (isConstant(b, 0)) return ONE
  if (isConstant(b, 1)) return a
  return a.op === 'constant' && b.op === 'constant' ? constant(a.value ** b.value) : { op: 'power', a, b }
}

function unary(op: UnaryName, a: Expression): Expression {
  return a.op === 'constant' ? constant(UNARY[op].f(a.value)) : { op, a }
}

const square = (a: Expression) => power(a, constant(2))
const over = (a: Expression) => divide(ONE, a)

export const UNARY: Readonly<Record<UnaryName, UnaryFunction>> = {
  negate: { f: (x: number) => -x, slope: () => constant(-1) },
  sqrt: { f: Math.sqrt, slope: (a) => divide(constant(0.5), unary('sqrt', a)) },
  cbrt: { f: Math.cbrt, slope: (a) => over(multiply(constant(3), square(unary('cbrt', a)))) },
  exp: { f: Math.exp, slope: (a) => unary('exp', a) },
  expm1: { f: Math.expm1, slope: (a) => unary('exp', a) },
  ln: { f: Math.log, slope: over },
  log1p: { f: Math.log1p, slope: (a) => over(add(ONE, a)) },
  log10: { f: Math.log10, slope: (a) => over(multiply(constant(Math.LN10), a)) },
  log2: { f: Math.log2, slope: (a) => over(multiply(constant(Math.LN2), a)) },
  sin: { f: Math.sin, slope: (a) => unary('cos', a) },
  cos: { f: Math.cos, slope: (a) => negate(unary('sin', a)) },
  tan: { f: Math.tan, slope: (a) => add(ONE, square(unary('tan', a))) },
  asin: { f: Math.asin, slope: (a) => over(unary('sqrt', subtract(ONE, square(a)))) },
  acos: { f: Math.acos, slope: (a) => negate(over(unary('sqrt', subtract(ONE, square(a))))) },
  atan: { f: Math.atan, slope: (a) => over(add(ONE, square(a))) },
  sinh: { f: Math.sinh, slope: (a) => unary('cosh', a) },
  cosh: { f: Math.cosh, slope: (a) => unary('sinh', a) },
  tanh: { f: Math.tanh, slope: (a) => subtract(ONE, square(unary('tanh', a))) },
  asinh: { f: Math.asinh, slope: (a) => over(unary('sqrt', add(square(a), ONE))) },
  acosh: { f: Math.acosh, slope: (a) => over(unary('sqrt', subtract(square(a), ONE))) },
  atanh: { f: Math.atanh, slope: (a) => over(subtract(ONE, square(a))) },
  abs: { f: Math.abs, slope: (a) => unary('sign', a) },
  sign: { f: Math.sign, slope: () => ZERO },
}

export const BINARY: Readonly<Record<BinaryName, (a: number, b: number) => number>> = {
  add: (a, b) => a + b,
  subtract: (a, b) => a - b,
  multiply: (a, b) => a * b,
  divide: (a, b) => a / b,
  power: (a, b) => a ** b,
  atan2: Math.atan2,
  minimum: Math.min,
  maximum: Math.max,
}

/** Builds the tree, folding what is constant, so that derivatives stay short. */
export const tree = { constant, add, subtract, negate, multiply, divide, power, unary }

/**
 * Derivative of an expression with respect to one input, by the rules of calculus.
 *
 * Symbols  expression f, index i of the input; result ∂f/∂x_i, itself an expression
 * Source   the rules of differentiation; JCGM 100:2008, 5.1.3 (sensitivity coefficients)
 * Valid    everything but minimum and maximum, which have no derivative where their arguments meet: there
 *          undefined is given, and a numerical derivative has to serve
 * Throws   nothing
 */
export function derivative(expression: Expression, index: number): Expression | undefined {
  switch (expression.op) {
    case 'constant':
      return ZERO
    case 'input':
      return expression.index === index ? ONE : ZERO
    case 'add':
    case 'subtract':
    case 'multiply':
    case 'divide':
    case 'power':
    case 'atan2':
    case 'minimum':
    case 'maximum':
      return binaryDerivative(expression.op, expression.a, expression.b, index)
    default: {
      const inner = derivative(expression.a, index)
      const { slope } = UNARY[expression.op]
      if (inner === undefined) return undefined
      if (isConstant(inner, 0)) return ZERO
      return slope === undefined ? undefined : multiply(slope(expression.a), inner)
    }
  }
}

function binaryDerivative(
  op: BinaryName,
  a: Expression,
  b: Expression,
  index: number,
): Expression | undefined {
  const da = derivative(a, index)
  const db = derivative(b, index)
  if (da === undefined || db === undefined) return undefined
  if (isConstant(da, 0) && isConstant(db, 0)) return ZERO
  switch (op) {
    case 'add':
      return add(da, db)
    case 'subtract':
      return subtract(da, db)
    case 'multiply':
      return add(multiply(da, b), multiply(a, db))
    case 'divide':
      return subtract(divide(da, b), divide(multiply(a, db), square(b)))
    case 'power': {
      const byBase = multiply(multiply(b, power(a, subtract(b, ONE))), da)
      if (isConstant(db, 0)) return byBase
      return add(byBase, multiply(multiply(power(a, b), unary('ln', a)), db))
    }
    case 'atan2':
      return divide(subtract(multiply(b, da), multiply(a, db)), add(square(a), square(b)))
    default:
      return undefined
  }
}

/**
 * Value of an expression.
 *
 * Symbols  expression f; inputs x in the order of the model's names
 * Source   arithmetic
 * Valid    any; outside a function's domain the value is NaN or infinite
 * Throws   nothing
 */
export function evaluate(expression: Expression, inputs: ArrayLike<number>): number {
  switch (expression.op) {
    case 'constant':
      return expression.value
    case 'input':
      return inputs[expression.index]!
    default:
      return 'b' in expression
        ? BINARY[expression.op](evaluate(expression.a, inputs), evaluate(expression.b, inputs))
        : UNARY[expression.op].f(evaluate(expression.a, inputs))
  }
}

/**
 * Places of the inputs that an expression depends on.
 *
 * Symbols  expression f
 * Source   none (a walk through the tree)
 * Valid    any
 * Throws   nothing
 */
export function inputsOf(expression: Expression, found: Set<number> = new Set()): Set<number> {
  if (expression.op === 'input') found.add(expression.index)
  if ('a' in expression) inputsOf(expression.a, found)
  if ('b' in expression) inputsOf(expression.b, found)
  return found
}
