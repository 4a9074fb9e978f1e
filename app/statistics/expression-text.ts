import { create, type FactoryFunctionMap, type MathNode, parseDependencies } from 'mathjs/number'
import { first, needed } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'
import { type BinaryName, type Expression, tree, UNARY, type UnaryName } from './expression.ts'

const { constant, add, subtract, negate, multiply, divide, power, unary } = tree

/**
 * Only the parser is taken from the library: text to tree, nothing evaluated. What the tree may hold is
 * listed below; everything else is refused, so no function of the library can be reached from a request.
 */
const { parse } = create({ ...(parseDependencies as FactoryFunctionMap) }, {})

const LONGEST = 10_000
const DEEPEST = 400

const CONSTANTS: ReadonlyMap<string, number> = new Map([
  ['pi', Math.PI],
  ['π', Math.PI],
  ['tau', 2 * Math.PI],
  ['e', Math.E],
])

/** Functions of one argument under the names that people write. */
const UNARY_NAMES: ReadonlyMap<string, UnaryName> = new Map([
  ...(Object.keys(UNARY) as UnaryName[])
    .filter((name) => name !== 'negate')
    .map((name): [string, UnaryName] => [name, name]),
  ['log', 'ln'],
  ['arcsin', 'asin'],
  ['arccos', 'acos'],
  ['arctan', 'atan'],
])

/** Functions of as many arguments as one likes. */
const EXTREMES: ReadonlyMap<string, BinaryName> = new Map([
  ['min', 'minimum'],
  ['max', 'maximum'],
])

/** What an expression may call, for the words of a refusal and the command's help. */
export const FUNCTION_NAMES: readonly string[] = [
  ...UNARY_NAMES.keys(),
  'atan2',
  ...EXTREMES.keys(),
  'pow',
  'hypot',
  'square',
  'cube',
]

/** Signs that people paste, in the parser's own. */
const PASTED: readonly (readonly [RegExp, string])[] = [
  [/[×·⋅∙]/g, '*'],
  [/[−–]/g, '-'],
  [/÷/g, '/'],
  [/\*\*/g, '^'],
  [/²/g, '^2'],
  [/³/g, '^3'],
  [/√/g, 'sqrt'],
]

// Structure of the library's nodes that is used here; its own types are wider than what a parse gives.
interface Parsed {
  readonly type: string
  readonly value?: unknown
  readonly name?: string
  readonly fn?: string | Parsed
  readonly op?: string
  /** A product written without a sign. */
  readonly implicit?: boolean
  readonly args?: readonly Parsed[]
  readonly content?: Parsed
  readonly object?: Parsed
  readonly index?: unknown
}

/**
 * Reads a model's expression.
 *
 * Sums, products (also written by putting factors side by side), quotients, powers, brackets, numbers, the
 * inputs by name, pi and e (unless an input has that name), and the functions of FUNCTION_NAMES. A leading
 * `y =` is allowed. Nothing else of the parser's language is: no units, no assignments within, no calls.
 *
 * Symbols  text of the expression; names of the inputs, in order
 * Source   the parser of the mathjs library, of whose tree only the listed parts are taken
 * Valid    up to 10 000 characters
 * Throws   StatisticsError 'bad-expression' | 'unknown-name'
 */
export function readExpression(text: string, names: readonly string[]): Expression {
  if (text.length > LONGEST) {
    throw new StatisticsError(
      'bad-expression',
      said('model-too-long', { characters: text.length, longest: LONGEST }),
    )
  }
  let node: Parsed
  try {
    const plain = PASTED.reduce((line, [sign, own]) => line.replace(sign, own), text)
    node = parse(plain) as MathNode as unknown as Parsed
  } catch (fault) {
    const why =
      fault instanceof RangeError
        ? 'it is nested too deeply'
        : fault instanceof Error
          ? fault.message
          : String(fault)
    throw new StatisticsError('bad-expression', said('model-cannot-read', { why }), { text })
  }
  const body = node.type === 'AssignmentNode' && node.index === null ? (node.value as Parsed) : node
  return converted(body, new Map(names.map((name, index) => [name, index])), 0)
}

function refuse(node: Parsed): never {
  throw new StatisticsError(
    'bad-expression',
    said('model-not-allowed', { type: node.type, functions: FUNCTION_NAMES.join(', ') }),
    { part: node.type },
  )
}

function converted(node: Parsed, inputs: ReadonlyMap<string, number>, depth: number): Expression {
  if (depth > DEEPEST) throw new StatisticsError('bad-expression', said('model-nested-too-deeply', {}))
  const inner = (part: Parsed) => converted(part, inputs, depth + 1)
  switch (node.type) {
    case 'ConstantNode':
      if (typeof node.value !== 'number') return refuse(node)
      return constant(node.value)
    case 'SymbolNode':
      return symbol(node.name ?? '', inputs)
    case 'ParenthesisNode':
      return inner(needed(node.content, 'expression in the brackets'))
    case 'OperatorNode':
      return operator(node, inner)
    case 'FunctionNode':
      return call(node, inputs, inner)
    default:
      return refuse(node)
  }
}

function symbol(name: string, inputs: ReadonlyMap<string, number>): Expression {
  const index = inputs.get(name)
  if (index !== undefined) return { op: 'input', index }
  const known = CONSTANTS.get(name)
  if (known !== undefined) return constant(known)
  if (FUNCTION_NAMES.includes(name)) {
    throw new StatisticsError('bad-expression', said('function-without-brackets', { name }), {
      name,
    })
  }
  throw new StatisticsError(
    'unknown-name',
    said('model-of-unknown-input', { name, known: [...inputs.keys()].join(', ') }),
    { name },
  )
}

function operator(node: Parsed, inner: (part: Parsed) => Expression): Expression {
  const [a, b] = (node.args ?? []).map(inner)
  const refused = { type: `operator ${node.op}` }
  if (a === undefined) return refuse(refused)
  if (b === undefined) {
    if (node.fn === 'unaryMinus') return negate(a)
    return node.fn === 'unaryPlus' ? a : refuse(refused)
  }
  switch (node.fn) {
    case 'add':
      return add(a, b)
    case 'subtract':
      return subtract(a, b)
    case 'multiply':
      return multiply(a, b)
    case 'divide':
      if (node.args?.[1]?.implicit === true) {
        throw new StatisticsError('bad-expression', said('quotient-ambiguous', {}))
      }
      return divide(a, b)
    case 'pow':
      return power(a, b)
    default:
      return refuse(refused)
  }
}

function call(
  node: Parsed,
  inputs: ReadonlyMap<string, number>,
  inner: (part: Parsed) => Expression,
): Expression {
  const name = typeof node.fn === 'object' ? node.fn.name : node.fn
  const parts = node.args ?? []
  if (name === undefined) return refuse(node)
  // An input in front of a bracket is a factor: the parser cannot know that it is no function.
  if (inputs.has(name) && parts.length === 1) return multiply(symbol(name, inputs), inner(first(parts)))
  const args = parts.map(inner)
  const [a, b, ...more] = args
  if (a !== undefined && b === undefined) {
    const one = UNARY_NAMES.get(name)
    if (one !== undefined) return unary(one, a)
    if (name === 'square') return power(a, constant(2))
    if (name === 'cube') return power(a, constant(3))
  }
  if (a !== undefined && b !== undefined && more.length === 0) {
    if (name === 'pow') return power(a, b)
    if (name === 'log') return divide(unary('ln', a), unary('ln', b))
    if (name === 'atan2') return { op: 'atan2', a, b }
  }
  if (a !== undefined) {
    const op = EXTREMES.get(name)
    if (op !== undefined) return args.reduce((x, y) => ({ op, a: x, b: y }))
    if (name === 'hypot') return unary('sqrt', args.map((x) => power(x, constant(2))).reduce(add))
  }
  throw new StatisticsError(
    'unknown-name',
    said('model-of-unknown-function', {
      name,
      count: args.length,
      plural: args.length === 1 ? '' : 's',
      functions: FUNCTION_NAMES.join(', '),
    }),
    { name },
  )
}
