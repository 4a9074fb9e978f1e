import { at, zip } from '../base/lists.ts'
import type { Expression, UnaryName } from './expression.ts'
import { BINARY, derivative, evaluate, UNARY } from './expression.ts'

/** A measurement model: what a budget needs of it. */
export interface Model {
  /** The measurand at given input values. */
  value(inputs: ArrayLike<number>): number
  /** First derivatives at given input values; a numerical derivative serves where there is no rule. */
  sensitivities?(inputs: ArrayLike<number>): (number | undefined)[]
  /** Second and mixed third derivatives; undefined where there is no rule, or the inputs are too many. */
  higher?(inputs: ArrayLike<number>): HigherDerivatives | undefined
  /** Many trials at once: columns[i][k] is input i in trial k. */
  evaluateBlock?(columns: readonly Float64Array[], out: Float64Array, count: number): void
}

interface HigherDerivatives {
  /** ∂²f/∂x_i∂x_j. */
  readonly second: readonly (readonly number[])[]
  /** ∂³f/∂x_i∂x_j². */
  readonly third: readonly (readonly number[])[]
}

/**
 * A model from its expression: value, exact derivatives to third order, and evaluation by blocks.
 *
 * Symbols  expression f of n inputs
 * Source   JCGM 100:2008, 5.1.2 with its note (derivatives of higher order)
 * Valid    any expression
 * Throws   nothing
 */
export function modelOf(expression: Expression, n: number): Model {
  const first = Array.from({ length: n }, (_, i) => derivative(expression, i))
  const program = compile(expression)
  return {
    value: (inputs) => evaluate(expression, inputs),
    sensitivities: (inputs) => first.map((slope) => slope && evaluate(slope, inputs)),
    higher: (inputs) => higherDerivatives(first, inputs),
    evaluateBlock: (columns, out, count) => run(program, columns, out, count),
  }
}

/** With more inputs the third derivatives of a model that bends would take seconds; the Monte Carlo does not mind. */
const MOST_INPUTS = 100

function higherDerivatives(
  first: readonly (Expression | undefined)[],
  inputs: ArrayLike<number>,
): HigherDerivatives | undefined {
  if (first.length > MOST_INPUTS && first.some((slope) => slope?.op !== 'constant')) return undefined
  const second: number[][] = []
  const third: number[][] = []
  for (const slope of first) {
    if (slope === undefined) return undefined
    const twice: number[] = []
    const thrice: number[] = []
    for (let j = 0; j < first.length; j++) {
      const once = derivative(slope, j)
      const again = once && derivative(once, j)
      if (once === undefined || again === undefined) return undefined
      twice.push(evaluate(once, inputs))
      thrice.push(evaluate(again, inputs))
    }
    second.push(twice)
    third.push(thrice)
  }
  return { second, third }
}

interface Step {
  readonly op: Expression['op']
  readonly a: number
  readonly b: number
}

/** Steps in order; registers 0 .. inputs−1 are the columns, each step writes the next one. */
interface Program {
  readonly steps: readonly Step[]
  readonly constants: ReadonlyMap<number, number>
  readonly inputs: ReadonlyMap<number, number>
  registers: Float64Array[]
}

function compile(expression: Expression): Program {
  const steps: Step[] = []
  const constants = new Map<number, number>()
  const inputs = new Map<number, number>()
  const known = new Map<string, number>()
  const visit = (node: Expression): number => {
    let key: string
    let step: Step
    if (node.op === 'constant') {
      key = `c${node.value}`
      step = { op: node.op, a: -1, b: -1 }
    } else if (node.op === 'input') {
      key = `x${node.index}`
      step = { op: node.op, a: node.index, b: -1 }
    } else if (node.op === 'power' && node.b.op === 'constant' && node.b.value === 2) {
      // Squares are common, and a product is many times faster than a power.
      const a = visit(node.a)
      key = `multiply ${a} ${a}`
      step = { op: 'multiply', a, b: a }
    } else {
      const a = visit(node.a)
      const b = 'b' in node ? visit(node.b) : -1
      key = `${node.op} ${a} ${b}`
      step = { op: node.op, a, b }
    }
    const same = known.get(key)
    if (same !== undefined) return same
    const register = steps.push(step) - 1
    known.set(key, register)
    if (node.op === 'constant') constants.set(register, node.value)
    if (node.op === 'input') inputs.set(register, node.index)
    return register
  }
  visit(expression)
  return { steps, constants, inputs, registers: [] }
}

/** Registers are kept between blocks of one size. */
function registersOf(program: Program, count: number): Float64Array[] {
  if ((program.registers[0]?.length ?? 0) < count) {
    program.registers = program.steps.map((_, i) => {
      const held = new Float64Array(count)
      const value = program.constants.get(i)
      return value === undefined ? held : held.fill(value)
    })
  }
  return program.registers
}

function run(program: Program, columns: readonly Float64Array[], out: Float64Array, count: number): void {
  const own = registersOf(program, count)
  const held = own.map((register, i) => {
    const index = program.inputs.get(i)
    return index === undefined ? register : at(columns, index)
  })
  const end = program.steps.length - 1
  for (const [i, [{ op, a, b }, register]] of zip(program.steps, held).entries()) {
    const target = i === end ? out : register
    if (op === 'constant' || op === 'input') {
      if (i === end) out.set(register.subarray(0, count))
    } else if (b < 0) runUnary(op as UnaryName, at(held, a), target, count)
    else runBinary(op as keyof typeof BINARY, at(held, a), at(held, b), target, count)
  }
}

function runUnary(op: UnaryName, x: Float64Array, out: Float64Array, count: number): void {
  const { f } = UNARY[op]
  for (let k = 0; k < count; k++) out[k] = f(x[k]!)
}

/** The four plain operations have a loop of their own, which the compiler turns into straight arithmetic. */
function runBinary(
  op: keyof typeof BINARY,
  x: Float64Array,
  y: Float64Array,
  out: Float64Array,
  count: number,
): void {
  if (op === 'add') for (let k = 0; k < count; k++) out[k] = x[k]! + y[k]!
  else if (op === 'subtract') for (let k = 0; k < count; k++) out[k] = x[k]! - y[k]!
  else if (op === 'multiply') for (let k = 0; k < count; k++) out[k] = x[k]! * y[k]!
  else if (op === 'divide') for (let k = 0; k < count; k++) out[k] = x[k]! / y[k]!
  else {
    const f = BINARY[op]
    for (let k = 0; k < count; k++) out[k] = f(x[k]!, y[k]!)
  }
}
