/** Other names under which people state a budget, put into those that the request uses. */

type Fields = Readonly<Record<string, unknown>>

const isFields = (value: unknown): value is Fields =>
  typeof value === 'object' && value !== null && !Array.isArray(value)

const REQUEST_NAMES: Readonly<Record<string, string>> = {
  expression: 'model',
  formula: 'model',
  coverageProbability: 'coverage',
  probability: 'coverage',
  coverageFactor: 'k',
  montecarlo: 'monteCarlo',
}

const INPUT_NAMES: Readonly<Record<string, string>> = {
  symbol: 'name',
  estimate: 'value',
  mean: 'value',
  u: 'standardUncertainty',
  uncertainty: 'standardUncertainty',
  dof: 'degreesOfFreedom',
  nu: 'degreesOfFreedom',
  halfwidth: 'halfWidth',
  U: 'expanded',
  expandedUncertainty: 'expanded',
  coverageFactor: 'k',
  low: 'lower',
  high: 'upper',
  min: 'lower',
  max: 'upper',
  beta: 'ratio',
  readings: 'observations',
}

const CORRELATION_NAMES: Readonly<Record<string, string>> = {
  coefficient: 'r',
  correlation: 'r',
  value: 'r',
  x: 'a',
  y: 'b',
  first: 'a',
  second: 'b',
}

/** The request's own names win where both are given. */
function renamed(fields: Fields, names: Readonly<Record<string, string>>): Fields {
  const result: Record<string, unknown> = {}
  for (const [name, value] of Object.entries(fields)) {
    const own = (Object.hasOwn(names, name) ? names[name] : undefined) ?? name
    if (own === name || !Object.hasOwn(fields, own)) result[own] = value
  }
  return result
}

/**
 * A budget request with its synonyms resolved; what it does not know is left as it is, for the schema to judge.
 *
 * Inputs may be an object by name. Correlations may be objects, triples [a, b, r], a whole matrix in the order of
 * the inputs, an object of objects by name, or stand with an input as {other: r}.
 *
 * Symbols  raw, a parsed JSON value
 * Source   none (names)
 * Valid    any
 * Throws   nothing
 */
export function requestInOwnWords(raw: unknown): unknown {
  if (!isFields(raw)) return raw
  const request = renamed(raw, REQUEST_NAMES)
  const listed = isFields(request.inputs)
    ? Object.entries(request.inputs).map(([name, input]) => (isFields(input) ? { name, ...input } : input))
    : request.inputs
  if (!Array.isArray(listed)) return request
  const inputs = listed.map((input: unknown) => (isFields(input) ? renamed(input, INPUT_NAMES) : input))
  const names = inputs.map((input) => (isFields(input) ? input.name : undefined))
  const own = inputs.flatMap((input) =>
    isFields(input) && isFields(input.correlations)
      ? Object.entries(input.correlations).map(([b, r]) => ({ a: input.name, b, r }))
      : [],
  )
  const correlations = [...correlationList(request.correlations, names), ...own]
  return {
    ...request,
    inputs,
    ...(correlations.length > 0 && { correlations: withoutMirrors(correlations) }),
  }
}

function correlationList(raw: unknown, names: readonly unknown[]): unknown[] {
  if (isFields(raw)) {
    return Object.entries(raw).flatMap(([a, row]) =>
      isFields(row) ? Object.entries(row).map(([b, r]) => ({ a, b, r })) : [{ a, r: row }],
    )
  }
  if (!Array.isArray(raw)) return raw === undefined ? [] : [raw]
  const isMatrix =
    raw.length === names.length &&
    raw.every(
      (row: unknown) => Array.isArray(row) && row.length === names.length && row.every(Number.isFinite),
    )
  if (isMatrix) {
    return raw.flatMap((row: number[], i) =>
      row.flatMap((r, j) => (j > i && r !== 0 ? [{ a: names[i], b: names[j], r }] : [])),
    )
  }
  return raw.map((entry: unknown) => {
    if (Array.isArray(entry)) return { a: entry[0], b: entry[1], r: entry[2] }
    if (!isFields(entry)) return entry
    const pair = [entry.between, entry.inputs, entry.names].find((value) => Array.isArray(value)) as
      | unknown[]
      | undefined
    return renamed(pair === undefined ? entry : { a: pair[0], b: pair[1], ...entry }, CORRELATION_NAMES)
  })
}

/** A pair that is stated from both sides with one value is stated once; with two values it is left for a refusal. */
function withoutMirrors(correlations: readonly unknown[]): unknown[] {
  return correlations.filter((entry, at) => {
    if (!isFields(entry)) return true
    return !correlations
      .slice(0, at)
      .some((other) => isFields(other) && other.a === entry.b && other.b === entry.a && other.r === entry.r)
  })
}
